from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.statistics import flow, forecast
from shop.bench.statistics.forecast import Stay

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


def test_a_parcel_and_the_work_after_it_add_up():
    """Parcels take 10 or 20 days and are 12 days old, so 20; the work takes 1 to 8 days after it."""
    draws = forecast.after_delivery([10.0, 20.0] * 8, 12.0, list(range(1, 9)), seed=3)
    assert set(draws) == {8.0 + days for days in range(1, 9)}
    assert draws.mean() == pytest.approx(8 + 4.5, abs=0.1)


@pytest.mark.parametrize(
    ("delivery", "rest"),
    [([10.0] * 7, [1.0] * 8), ([10.0] * 8, [1.0] * 7), ([3.0] * 20, [1.0] * 8)],
)
def test_no_parcel_is_forecast_from_a_thin_record(delivery, rest):
    assert forecast.after_delivery(delivery, 5.0, rest, seed=1) is None
