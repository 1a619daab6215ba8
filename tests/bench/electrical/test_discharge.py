from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shop.bench.electrical.discharge import bleeder, discharge
from shop.bench.electrical.preferred_values import E6

volts = st.floats(1, 5000)
microfarads = st.floats(0.01, 1e6)


@given(st.floats(2, 500), st.floats(1, 100), st.floats(0.01, 0.9), st.floats(0.1, 1000))
def test_a_bleeder_does_in_time_what_the_discharge_says(volts, target, share, seconds):
    target = volts * share
    assume(target > 0.01)
    resistor = bleeder(volts, 10, target, seconds)
    assume(0.1 <= resistor.largest_ohms <= 1e8)
    plan = discharge(volts, 10, resistor.largest_ohms, target)
    assert plan.seconds == pytest.approx(seconds)
    assert resistor.preferred_ohms <= resistor.largest_ohms * (1 + 1e-6)


@given(volts, microfarads, st.floats(1, 1e6), st.floats(1, 1e6))
def test_a_larger_resistor_is_never_faster(start, capacity, one, other):
    low, high = sorted((one, other))
    assert (
        discharge(start, capacity, low, meant=True).seconds
        <= discharge(start, capacity, high, meant=True).seconds
    )


@given(volts, microfarads)
def test_the_proposed_resistor_is_a_preferred_value_and_starts_gently(start, capacity):
    plan = discharge(start, capacity, meant=True)
    mantissa = plan.ohms / 10 ** math.floor(math.log10(plan.ohms * (1 + 1e-9)))

    assert any(mantissa == pytest.approx(step) for step in E6)
    assert plan.start_amps <= 0.5 * (1 + 1e-6)


def test_what_is_below_the_target_needs_no_time():
    assert discharge(8, 1000, 100, target_volts=10).seconds == 0
