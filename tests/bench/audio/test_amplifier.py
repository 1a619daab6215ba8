"""Power at a stated distortion, gain, levels, slew rate."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.audio import amplifier


@given(st.floats(-120, 60), st.sampled_from(["dBu", "dBV", "dBm"]), st.floats(4, 10_000))
def test_a_level_comes_back_in_its_own_unit(value, unit, ohms):
    found = amplifier.level_units(value, unit, ohms)
    back = {"dBu": found.level_dbu, "dBV": found.level_dbv, "dBm": found.level_dbm}[unit]
    assert back == pytest.approx(value, abs=1e-9)
    assert amplifier.level_units(found.rms_volts, "V", ohms).power_milliwatts == pytest.approx(
        found.power_milliwatts
    )


@pytest.mark.parametrize(("value", "unit"), [(0.0, "V"), (-1.0, "mW"), (200.0, "dBu"), (1.0, "VU")])
def test_a_level_that_is_none_gets_a_sentence(value, unit):
    with pytest.raises(ValueError, match="it must be"):
        amplifier.level_units(value, unit)


def test_noise_at_low_level_is_not_taken_for_clipping():
    found = amplifier.distortion_power([0.1, 1, 10, 20, 21, 22], [2, 0.2, 0.02, 0.05, 1, 5])
    assert found.rms_volts == pytest.approx(21)
    assert found.watts == pytest.approx(21**2 / 8)


@given(st.floats(0.01, 10), st.floats(10, 30), st.floats(1.01, 1.5))
def test_power_lies_between_the_readings_about_the_limit(stated, volts, step):
    found = amplifier.distortion_power([volts, volts * step], [stated / 2, stated * 3], 4, stated)
    assert volts < found.rms_volts < volts * step
    assert found.says.startswith(f"{found.watts:.3g} W into 4 ohm")


@pytest.mark.parametrize(
    ("volts", "thd", "sentence"),
    [
        ([1, 2, 3], [0.1, 0.2, 0.3], "on past it"),
        ([1, 2, 3], [2, 3, 4], "read from lower"),
        ([1, 3, 2], [0.1, 0.2, 3], "must go forward"),
        ([1, 2], [0.1], "takes 2 to"),
    ],
)
def test_readings_that_do_not_reach_the_limit_get_a_sentence(volts, thd, sentence):
    with pytest.raises(ValueError, match=sentence):
        amplifier.distortion_power(volts, thd)


def test_sensitivity_needs_the_rated_power():
    assert amplifier.gain(1000, 20).sensitivity_millivolts is None
    full = amplifier.gain(1000, 20, rated_watts=50)
    assert full.sensitivity_millivolts == pytest.approx(1000)
    assert amplifier.gain(1000, 20, rated_watts=12.5).sensitivity_millivolts == pytest.approx(500)


def test_a_slope_is_enough_or_too_slow():
    assert amplifier.slew_rate(28.3).verdict == "not-measured"
    needed = amplifier.slew_rate(28.3).needed_volts_per_microsecond
    assert needed == pytest.approx(2 * math.pi * 0.02 * 28.3 * math.sqrt(2))
    verdicts = [
        amplifier.slew_rate(28.3, rise_volts=needed * share, rise_microseconds=1).verdict
        for share in (0.99, 1.0, 1.01)
    ]
    assert verdicts == ["too-slow", "enough", "enough"]
