from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.purchasing import lead_times
from shop.bench.statistics import flow, forecast


@given(st.lists(st.tuples(st.floats(0, 99), st.floats(0, 50)), max_size=30))
def test_littles_averages_add_up_when_all_is_inside_the_window(pairs):
    stays = [(entered, entered + days) for entered, days in pairs]
    found = flow.little_check(stays, -1.0, 200.0)
    assert found.inside == pytest.approx(found.expected, abs=1e-6)


def test_a_shelf_that_fills_up_shows():
    stays = [(float(day), None if day % 2 else day + 1.0) for day in range(100)]
    assert flow.little_check(stays, 0, 100).ratio > 5
    assert math.isnan(flow.little_check([], 0, 1).ratio)


@pytest.mark.parametrize(
    ("act", "said"),
    [
        (lambda: flow.little_check([], 1, 1), "ends before it begins"),
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
