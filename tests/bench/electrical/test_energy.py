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


@given(st.floats(0, 1e5), st.floats(0.01, 1e6), st.floats(0.01, 1e6))
def test_a_larger_capacitor_is_never_in_a_lower_class(charged, one, other):
    low, high = sorted((one, other))
    small, large = (energy.capacitor_class(charged, nf) for nf in (low, high))
    assert small.energy_class <= large.energy_class
    assert large.es1_volts <= small.es1_volts


@given(volts, st.floats(0.3, 1e5))
def test_from_300_nanofarads_on_a_capacitor_is_a_steady_source(charged, capacity):
    held = stored_energy(charged, capacity, meant=True)
    assert held.energy_class == held.dc_class == energy.dc_class(charged)


def test_a_small_capacitor_holds_little_whatever_its_volts():
    held = stored_energy(400, 0.001)
    assert (held.energy_class, held.dc_class) == ("ES1", "ES3")
    assert stored_energy(400, 0).energy_class == "ES1"


def test_its_tolerance_counts():
    assert energy.capacitor_class(75, 170, 0).energy_class == "ES1"
    assert energy.capacitor_class(75, 170, 20).energy_class == "ES2"


@given(st.floats(1, 300), st.floats(0, 3e5), st.floats(0, 3e5))
def test_a_faster_current_is_never_in_a_higher_class(rms, one, other):
    slow, fast = sorted((one, other))
    low, high = (energy.energy_class(rms_volts=rms, hertz=hz).energy_class for hz in (fast, slow))
    assert low <= high
