from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import energy
from shop.bench.electrical.energy import stored_energy

volts = st.floats(1, 5000)
microfarads = st.floats(0.01, 1e6)


@given(st.floats(0, 500), st.floats(0, 500))
def test_a_higher_voltage_is_never_in_a_lower_class(one, other):
    low, high = sorted((one, other))
    assert energy.dc_class(low) <= energy.dc_class(high)


@given(volts, volts, microfarads)
def test_more_volts_never_hold_less_energy(one, other, capacity):
    low, high = sorted((one, other))
    assert (
        stored_energy(low, capacity, meant=True).energy_j
        <= stored_energy(high, capacity, meant=True).energy_j
    )


@given(volts, microfarads)
def test_doubling_the_volts_gives_four_times_the_energy(start, capacity):
    once = stored_energy(start, capacity, meant=True)
    twice = stored_energy(2 * start, capacity, meant=True)
    assert twice.energy_j == pytest.approx(4 * once.energy_j)
