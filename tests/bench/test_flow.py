from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.purchasing import lead_times
from shop.bench.statistics import flow, forecast
from shop.bench.statistics.forecast import Stay
from shop.lib.charts import Scale, polyline

DAYS = st.floats(0.01, 300)
STAYS = st.lists(st.builds(lambda a, b: Stay(a, a + b), DAYS, DAYS), min_size=8, max_size=60)


@given(STAYS, st.integers(1, 99))
def test_a_forecast_never_leaves_what_was_on_record(stays, seed):
    draws = forecast.remaining(stays, 0.0, seed=seed, draws=500)
    ends = [stay.to_end for stay in stays]
    assert min(ends) - 1e-9 <= draws.min()
    assert draws.max() <= max(ends) + 1e-9
    found = forecast.range_of(draws, len(stays))
    assert found.most[0] <= found.half[0] <= found.half[1] <= found.most[1]
    assert found.most[0] - 1e-9 <= found.likely <= max(ends) + 1e-9


@given(STAYS, DAYS)
def test_only_stays_that_lasted_as_long_speak(stays, age):
    longer = [stay for stay in stays if stay.days > age]
    draws = forecast.remaining(stays, age, seed=1, draws=200)
    assert (draws is None) == (len(longer) < flow.FEWEST)
    if draws is not None:
        assert draws.min() >= min(stay.to_end for stay in longer) - age - 1e-9
        assert draws.min() > 0


def test_the_ranges_hold_what_they_promise_on_the_distribution_itself():
    truth = np.random.default_rng(5).lognormal(2, 0.6, 4000)
    stays = [Stay(days, days) for days in truth[:2000]]
    found = forecast.range_of(forecast.remaining(stays, 0.0, seed=2), len(stays))
    inside = [
        (low <= truth[2000:]) & (truth[2000:] <= high) for low, high in (found.half, found.most)
    ]
    assert inside[0].mean() == pytest.approx(0.5, abs=0.04)
    assert inside[1].mean() == pytest.approx(0.85, abs=0.03)


@given(st.floats(0, 10), st.floats(0, 1))
def test_load_stretches_no_more_than_the_share_of_hands(load, share):
    draws = np.array([1.0, 10.0])
    held = forecast.under_load(draws, load, share)
    assert (held >= draws * (1 - share * 0.5) - 1e-9).all()
    assert (held <= draws * (1 + share) + 1e-9).all()


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
        (lambda: flow.days_to_finish(1, 0), "per_day is 0"),
        (lambda: lead_times.lognormal_from_median(10, 9), "p90_days is 9"),
        (lambda: lead_times.lognormal_from_mean(-1, 2), "mean_days is -1"),
        (lambda: flow.chance_of_finishing([], 1, 1), "No finished week"),
        (lambda: flow.littles_law(float("nan"), 1), "must be a number"),
        (lambda: forecast.remaining([], -1.0, seed=1), "age is -1"),
    ],
)
def test_what_makes_no_sense_is_a_sentence(act, said):
    with pytest.raises(ValueError, match=said):
        act()


@given(st.floats(0.1, 1e4), st.floats(1, 9))
def test_a_lognormal_gives_back_what_it_was_made_from(median, factor):
    made = lead_times.lognormal_from_median(median, median * factor)
    assert made.median == pytest.approx(median)
    assert made.percentile(90) == pytest.approx(median * factor, rel=1e-6)


@given(st.floats(-1e3, 1e3), st.floats(0.01, 1e3), st.floats(-2e3, 2e3))
def test_a_scale_keeps_every_value_on_the_drawing(low, span, value):
    scale = Scale(low, low + span, 10, 200)
    assert 10 <= scale.at(value) <= 200
    ticks = scale.ticks()
    assert 1 <= len(ticks) <= 11
    assert all(10 <= place <= 200 for _, place in ticks)


def test_points_of_a_line():
    assert polyline([0, 1.5], [2, 3]) == "0,2 1.5,3"
    assert Scale(3, 3, 10, 20).ticks() == [(3, 10)]
