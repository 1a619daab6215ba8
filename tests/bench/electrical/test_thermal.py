from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shop.bench.electrical import thermal


@given(st.floats(5, 100), st.floats(1, 50), st.floats(0, 1))
def test_no_level_burns_more_than_the_worst(rail, ohms, share):
    at = thermal.class_b_dissipation(rail, ohms, rail**2 / (2 * ohms) * share)
    assert at.pair_watts <= at.worst_pair_watts * (1 + 1e-9)
    assert at.supply_watts == pytest.approx(at.pair_watts + at.largest_output_watts * share)


@given(st.floats(1, 100), st.floats(0.1, 5), st.floats(0.1, 5), st.floats(0.1, 5))
def test_a_sink_that_is_just_enough_brings_the_junction_to_its_limit(watts, inner, joint, ambient):
    assume((150 - 25) / watts - inner - joint > 0.01)
    sink = thermal.required_sink(watts, inner, joint).sink_kelvin_per_watt
    assume(sink <= 100)
    found = thermal.junction_temperature(
        ambient_celsius=25,
        device_watts=watts,
        case_kelvin_per_watt=inner,
        interface_kelvin_per_watt=joint,
        sink_kelvin_per_watt=sink,
    )
    assert found.junction_celsius == pytest.approx(150)


@given(st.sampled_from(["TO-3", "TO-220", "TO-247", "power-IC"]), st.floats(1, 100))
def test_an_exchange_there_and_back_costs_nothing(package, watts):
    there = thermal.interface_swap(watts, package, "mica-compound", "pad-dry")
    back = thermal.interface_swap(watts, package, "pad-dry", "mica-compound")
    assert there.likely_kelvin == pytest.approx(-back.likely_kelvin)
    assert there.lowest_kelvin <= there.likely_kelvin <= there.highest_kelvin


def test_no_sink_helps_when_the_interface_alone_is_too_much():
    """50 W through 3 K/W rises 150 K; 125 K are allowed."""
    with pytest.raises(ValueError, match=r"No sink is large enough: .* rises 150 K, and 125 K"):
        thermal.required_sink(50, 2.5, 0.5)
