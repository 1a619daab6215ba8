from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from shop.bench.statistics import flow, forecast
from shop.bench.statistics.forecast import Stay

DAYS = st.floats(0.01, 300)
STAYS = st.lists(st.builds(lambda a, b: Stay(a, a + b), DAYS, DAYS), min_size=8, max_size=60)


@given(STAYS, st.integers(1, 99))
def test_a_forecast_leaves_what_was_on_record_only_where_the_record_is_short(stays, seed):
    draws = forecast.remaining(stays, 0.0, seed=seed, draws=2000)
    ends = [stay.to_end for stay in stays]
    found = forecast.range_of(draws, len(stays))
    assert 0 < found.most[0] <= found.half[0] <= found.half[1] <= found.most[1]
    assert found.most[0] <= found.likely <= found.most[1]
    assert min(ends) - 1e-9 <= found.half[0]
    assert found.half[1] <= max(ends) + 1e-9
    if len(stays) >= 20:
        assert min(ends) - 1e-9 <= found.most[0]
        assert found.most[1] <= max(ends) + 1e-9


@given(STAYS, DAYS)
def test_only_stays_that_lasted_as_long_speak(stays, age):
    longer = [stay for stay in stays if stay.days > age]
    draws = forecast.remaining(stays, age, seed=1, draws=1000)
    assert (draws is None) == (len(longer) < flow.FEWEST)
    if draws is not None:
        assert draws.min() > 0
        # Seven of nine lie within the record of eight, more with more.
        least, most = (pick(stay.to_end - age for stay in longer) for pick in (min, max))
        within = (least - 1e-6 <= draws) & (draws <= most + 1e-6)
        assert within.mean() > 7 / 9 - 0.1


def test_the_ranges_hold_what_they_promise_on_the_distribution_itself():
    truth = np.random.default_rng(5).lognormal(2, 0.6, 4000)
    stays = [Stay(days, days) for days in truth[:2000]]
    found = forecast.range_of(forecast.remaining(stays, 0.0, seed=2), len(stays))
    inside = [
        (low <= truth[2000:]) & (truth[2000:] <= high) for low, high in (found.half, found.most)
    ]
    assert inside[0].mean() == pytest.approx(0.5, abs=0.04)
    assert inside[1].mean() == pytest.approx(0.85, abs=0.03)


SHAPES = {
    "lognormal, narrow": stats.lognorm(0.4),
    "lognormal": stats.lognorm(0.8),
    "lognormal, wide": stats.lognorm(1.2),
    "exponential": stats.expon(scale=9),
    "gamma": stats.gamma(2, scale=4),
    "Weibull, falling": stats.weibull_min(0.7, scale=10),
    "Weibull, rising": stats.weibull_min(1.5, scale=10),
    "normal, a month": stats.norm(30, 2),
}


@pytest.mark.parametrize("stays", [8, 10, 13, 20, 50])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_ranges_hold_what_they_promise_from_eight_stays_on(shape, stays):
    """The true share that each range holds, by the distribution function, over many records."""
    truth, draw = SHAPES[shape], np.random.default_rng(stays)
    held = []
    for seed in range(400):
        record = [Stay(days, days) for days in truth.rvs(stays, random_state=draw)]
        drawn = forecast.remaining(record, 0.0, seed=seed, draws=2000)
        found = forecast.range_of(drawn, stays)
        held.append([np.diff(truth.cdf(span))[0] for span in (found.half, found.most)])
    half, most = np.mean(held, axis=0)
    assert half == pytest.approx(0.5, abs=0.035)
    assert most == pytest.approx(0.85, abs=0.025)


def test_a_shape_with_a_hard_end_is_held_by_more_than_promised():
    truth, draw = stats.uniform(1, 9), np.random.default_rng(1)
    held = []
    for seed in range(300):
        record = [Stay(days, days) for days in truth.rvs(8, random_state=draw)]
        found = forecast.range_of(forecast.remaining(record, 0.0, seed=seed, draws=2000), 8)
        held.append(np.diff(truth.cdf(found.most))[0])
    assert 0.85 <= np.mean(held) <= 0.93


@given(st.floats(0, 10), st.floats(0, 1))
def test_load_stretches_no_more_than_the_share_of_hands(load, share):
    draws = np.array([1.0, 10.0])
    held = forecast.under_load(draws, load, share)
    assert (held >= draws * (1 - share * 0.5) - 1e-9).all()
    assert (held <= draws * (1 + share) + 1e-9).all()


def test_a_parcel_and_the_work_after_it_add_up():
    """Parcels take 10 or 20 days and are 12 days old, so 20; the work takes 1 to 8 days after it."""
    draws = forecast.after_delivery([10.0, 20.0] * 8, 12.0, list(range(1, 9)), seed=3)
    assert draws.min() > 8
    assert np.median(draws) == pytest.approx(8 + 4.5, abs=0.2)
    low, high = np.percentile(draws, [25, 75])
    assert (low, high) == (pytest.approx(8 + 2.25, abs=0.2), pytest.approx(8 + 6.75, abs=0.2))


@pytest.mark.parametrize(
    ("delivery", "rest"),
    [([10.0] * 7, [1.0] * 8), ([10.0] * 8, [1.0] * 7), ([3.0] * 20, [1.0] * 8)],
)
def test_no_parcel_is_forecast_from_a_thin_record(delivery, rest):
    assert forecast.after_delivery(delivery, 5.0, rest, seed=1) is None
