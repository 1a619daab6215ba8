"""Transformers, reservoirs, zeners: held against circuits solved step by step."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.electrical.reservoirs import reservoir_size, ripple
from shop.bench.electrical.resistors import zener_resistor
from shop.bench.electrical.transformers import transformer_load, winding_temperature


def _simulated(amps, farads, peak, hertz, half_wave, steps=40_000):
    """Return lowest and highest voltage of a steady cycle: ideal diode, constant current out."""
    period = 1 / hertz
    step = period / steps
    volts = peak
    seen: list[float] = []
    for cycle in range(3):
        for place in range(steps):
            wave = peak * math.sin(2 * math.pi * place / steps)
            source = max(wave, 0.0) if half_wave else abs(wave)
            volts = max(volts - amps / farads * step, source, 0.0)
            if cycle == 2:
                seen.append(volts)
    return min(seen), max(seen)


@pytest.mark.parametrize(
    ("amps", "microfarads", "peak", "hertz", "half_wave"),
    [
        (2, 10_000, 42, 50, False),
        (0.1, 47, 350, 60, False),
        (0.05, 22, 300, 50, True),
        (3, 1000, 20, 50, False),
        (5, 100, 12, 50, False),  # a reservoir that hardly counts
    ],
)
def test_the_ripple_is_that_of_a_simulation(amps, microfarads, peak, hertz, half_wave):
    low, high = _simulated(amps, microfarads * 1e-6, peak, hertz, half_wave)
    got = ripple(amps, microfarads, peak, hertz, half_wave)
    assert got.lowest_volts == pytest.approx(low, abs=2e-3 * peak)
    assert got.ripple_volts == pytest.approx(high - low, abs=2e-3 * peak)


@given(
    st.floats(0.001, 10), st.floats(1, 50_000), st.floats(5, 500), st.floats(45, 65), st.booleans()
)
def test_a_reservoir_by_its_size_never_has_more_ripple_than_was_allowed(
    amps, allowed, peak, hertz, half_wave
):
    allowed = min(allowed, peak / 2)
    size = reservoir_size(amps, allowed, hertz, half_wave)
    if 0.1 <= size.preferred_microfarads <= 1e6:
        found = ripple(amps, size.preferred_microfarads, peak, hertz, half_wave)
        assert found.ripple_volts <= allowed * (1 + 1e-9)
        assert 0 <= found.lowest_volts <= peak


def test_power_in_is_power_out_and_heat():
    got = transformer_load(230, 30, 10, 0.3, 2)
    # 2 A in the secondary are 2 / n in the primary: both windings' heat by their own resistance.
    assert got.copper_watts == pytest.approx(2**2 * 0.3 + (2 / got.turns_ratio) ** 2 * 10)
    assert got.volt_amps + got.copper_watts == pytest.approx(30 * 2)


def test_a_load_beyond_a_short_is_refused():
    with pytest.raises(ValueError, match=r"load_amps is 90 A; through .* even a short"):
        transformer_load(230, 30, 10, 0.3, 90)


@pytest.mark.parametrize(("hot", "verdict"), [(13.1, "within"), (13.2, "too-hot")])
def test_the_mean_of_a_winding_of_class_a_ends_at_100_degrees(hot, verdict):
    """10 ohm at 20 C are 13.14 ohm at 100 C; its hottest spot is then near the 105 C of the class."""
    assert winding_temperature(10, hot).verdict == verdict


def test_another_winding_is_noticed():
    with pytest.raises(ValueError, match="hot_ohms is 30 ohm, 3 times cold_ohms"):
        winding_temperature(10, 30)


@given(
    st.floats(13, 40),
    st.floats(0, 30),
    st.floats(0, 50),
    st.floats(0, 1),
)
def test_a_zener_keeps_its_current_at_the_lowest_supply_and_burns_what_it_says(
    low, more, load, share
):
    got = zener_resistor(
        low, low + more, 12, load_milliamps=load, rated_watts=5, idle_milliamps=load * share
    )
    at_low = (low - 12) / got.preferred_ohms * 1000 - load
    assert at_low >= 5 - 1e-9
    assert got.least_zener_milliamps == pytest.approx(at_low)
    at_high = (low + more - 12) / got.preferred_ohms - load * share / 1000
    assert got.zener_watts == pytest.approx(12 * at_high)
    assert (got.verdict == "too-hot") == (12 * at_high > 2.5 * (1 + 1e-9))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"highest_volts": 17.0}, "highest_volts is 17 V; it must be at least"),
        ({"zener_volts": 18.0}, "zener_volts is 18 V; it must be below"),
        ({"idle_milliamps": 21.0}, "idle_milliamps is 21 mA; it must be at most"),
    ],
)
def test_a_zener_that_cannot_be_gets_a_sentence(changed, said):
    usual = {"lowest_volts": 18.0, "highest_volts": 24.0, "zener_volts": 12.0, "load_milliamps": 20.0, "rated_watts": 1.3}  # fmt: skip
    with pytest.raises(ValueError, match=said):
        registry.run("zener-resistor", usual | changed)


@pytest.mark.parametrize(
    ("supply", "more", "verdict"),
    [(52.0, {}, "too-much"), (51.7, {}, "regulates"), (52.0, {"most_volts": 60.0}, "regulates")],
)
def test_a_regulator_stands_40_volts_unless_its_data_sheet_says_more(supply, more, verdict):
    """At 11.77 V out; at the start the output is at 0 V, which no verdict on the valley can count."""
    usual = {"upper_ohms": 240.0, "lower_ohms": 2000.0, "load_amps": 0.01, "input_volts": supply}
    assert registry.run("adjustable-regulator", usual | more)["verdict"] == verdict


def test_a_regulator_drops_out_when_too_little_stands_across_it():
    usual = {"upper_ohms": 240.0, "lower_ohms": 2000.0, "load_amps": 0.5}
    assert (
        registry.run("adjustable-regulator", usual | {"input_volts": 14.3})["verdict"]
        == "regulates"
    )
    assert (
        registry.run("adjustable-regulator", usual | {"input_volts": 14.1})["verdict"]
        == "drops-out"
    )
