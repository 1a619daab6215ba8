from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.electrical.capacitor_checks import esr_limit, series_balance


@pytest.mark.parametrize(
    ("ohms", "verdict"),
    [(None, None), (0.28, "pass"), (0.29, "worn"), (0.56, "worn"), (0.57, "renew")],
)
def test_a_reading_is_held_against_the_limit_and_twice_it(ohms, verdict):
    """470 uF 50 V: 0.1 / (2 pi 120 Hz 470 uF) = 0.2822 ohm."""
    assert esr_limit(470, 50, ohms).verdict == verdict


def test_a_data_sheet_goes_before_the_table():
    assert esr_limit(470, 50, tan_delta=0.2).limit_ohms == pytest.approx(
        2 * esr_limit(470, 50).limit_ohms
    )


def test_the_same_capacitor_read_at_another_frequency():
    assert esr_limit(470, 50, hertz=100).limit_ohms == pytest.approx(
        1.2 * esr_limit(470, 50).limit_ohms
    )


def _solved(total, ohms, leakages):
    """Return the voltage of each capacitor: nodes of a chain, leakage as a current beside each."""
    count = len(leakages)
    rows = np.zeros((count, count))
    right = np.zeros(count)
    rows[0, :] = 1
    right[0] = total
    for place in range(1, count):
        # The current through one equals that through the next.
        rows[place, place - 1], rows[place, place] = 1 / ohms[place - 1], -1 / ohms[place]
        right[place] = leakages[place] - leakages[place - 1]
    return np.linalg.solve(rows, right)


@given(
    st.integers(2, 6),
    st.floats(50, 450),
    st.floats(0.5, 0.95),
    st.floats(0.05, 20),
    st.floats(0, 9),
    st.sampled_from([0.0, 1.0, 5.0]),
    st.randoms(use_true_random=False),
)
def test_no_capacitor_sees_more_than_its_rating_with_the_resistors(
    count, rated, share, apart, common, percent, random
):
    total = 0.9 * share * count * rated
    got = series_balance(total, rated, apart, count, resistor_percent=percent)
    tight_first = [common / 1000] + [(common + apart) / 1000] * (count - 1)
    off = percent / 100
    worst_case = np.array([1 + off] + [1 - off] * (count - 1))
    volts = _solved(total, got.preferred_ohms * worst_case, tight_first)
    assert volts.max() <= rated * (1 + 1e-9)
    assert got.worst_volts == pytest.approx(volts.max())
    at_limit = _solved(total, got.largest_ohms * worst_case, tight_first)
    assert at_limit.max() == pytest.approx(rated)
    any_pick = np.array([1 + random.uniform(-off, off) for _ in range(count)])
    leaks = [(common + random.uniform(0, apart)) / 1000 for _ in range(count)]
    assert _solved(total, got.preferred_ohms * any_pick, leaks).max() <= rated * (1 + 1e-9)


@pytest.mark.parametrize(("total", "verdict"), [(740.0, "enough"), (760.0, "too-little")])
def test_at_switch_on_the_smallest_of_two_takes_six_tenths(total, verdict):
    got = series_balance(total, 450, 1)
    assert got.switch_on_volts == pytest.approx(0.6 * total)
    assert got.verdict == verdict


def test_capacitors_that_are_too_few_get_a_sentence():
    given_ = {"total_volts": 900.0, "rated_volts": 450.0, "leakage_milliamps": 1.0}
    with pytest.raises(ValueError, match="rated_volts is 450 V; 2 in series with resistors of 5 %"):
        registry.run("series-balance", given_)
