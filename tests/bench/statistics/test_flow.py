from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.purchasing import lead_times
from shop.bench.statistics import flow, forecast


def test_littles_averages_add_up():
    assert flow.Little(inside=6.0, per_day=2.0, days_inside=3.0).ratio == 1.0
    assert math.isnan(flow.Little(0.0, 0.0, 0.0).ratio)


@pytest.mark.parametrize(
    ("act", "said"),
    [
        (lambda: flow.percentiles([]), "No finished stay"),
        (lambda: flow.shelf_time(1, 0), "finished_per_day is 0"),
        (lambda: lead_times.lognormal_from_median(10, 9), "p90_days is 9"),
        (lambda: flow.chance_of_finishing([], 1, 1), "No finished week"),
        (lambda: flow.shelf_time(float("nan"), 1), "inside is nan; it must be a number"),
        (lambda: forecast.remaining([], -1.0, seed=1), "age is -1"),
    ],
)
def test_what_makes_no_sense_is_a_sentence(act, said):
    with pytest.raises(ValueError, match=said):
        act()


@given(st.lists(st.floats(0, 100), min_size=1, max_size=30))
def test_percentiles_are_those_of_the_record(days):
    low, middle, high = flow.percentiles(days, (0, 50, 100))
    assert (low, high) == (min(days), max(days))
    assert low <= middle <= high
