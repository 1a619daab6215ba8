"""Curves, and stages that are off them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.audio import equalisation as eq
from shop.bench.audio import wav
from tests.bench.audio.waves import as_file, sine


@given(st.sampled_from(eq.CURVES), st.floats(1, 100_000), st.floats(1, 100_000))
def test_playback_undoes_what_is_recorded(curve, one, two):
    a, b = (eq.equalisation(curve, f) for f in (one, two))
    if curve == "riaa-iec":
        return  # the amendment is of playback alone
    head = 0 if curve == "riaa" else 20 * math.log10(one / two)
    through = a.playback_decibels + a.recorded_decibels - b.playback_decibels - b.recorded_decibels
    assert through + head == pytest.approx(0, abs=1e-9)


@given(
    st.sampled_from(eq.CURVES),
    st.floats(-20, 60),
    st.lists(st.floats(20, 20_000), min_size=3, max_size=30, unique=True),
)
def test_a_stage_on_its_curve_is_not_off_whatever_its_gain(curve, gain, places):
    levels = [eq.playback_decibels(curve, f) + gain for f in places]
    assert eq.equalisation_deviation(curve, places, levels).spread_decibels == pytest.approx(
        0, abs=1e-9
    )


def test_the_reading_that_is_off_is_named():
    places = [20.0, 100.0, 1000.0, 10_000.0]
    levels = [eq.playback_decibels("riaa", f) for f in places]
    found = eq.equalisation_deviation("riaa", places, [levels[0] - 3, *levels[1:]])
    assert (found.worst_hertz, found.worst_decibels) == (20.0, pytest.approx(-3))
    assert found.says == "At most 3.00 dB off, at 20 Hz."


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"curve": "riaaa", "hertz": [1.0] * 3, "decibels": [1.0] * 3}, "curve is .riaaa."),
        ({"curve": "riaa", "hertz": [20.0] * 3, "decibels": [1.0] * 4}, "they belong together"),
        ({"curve": "riaa", "hertz": [20.0], "decibels": [1.0]}, "takes 3 to"),
    ],
)
def test_bad_readings_get_a_sentence(given, sentence):
    with pytest.raises(ValueError, match=sentence):
        registry.run("equalisation-deviation", given)


def test_the_shell_takes_a_recording_through_a_phono_stage(tmp_path):
    path = tmp_path / "tones.wav"
    wave = sum(
        sine(31.5 * 2**n, 0.05 * 10 ** (eq.playback_decibels("riaa", 31.5 * 2**n) / 20), phase=n)
        for n in range(10)
    )
    path.write_bytes(as_file(wave).getvalue())
    assert abs(registry.run("equalisation-response", {"path": str(path)})["worst_decibels"]) < 0.01
    other = registry.run("equalisation-response", {"path": str(path), "curve": "riaa-iec"})
    assert other["worst_decibels"] == pytest.approx(1.47, abs=0.02)


@pytest.mark.parametrize(("reference", "at_most"), [(2, 0.2), (0, 0.4)])
def test_a_sweep_that_ends_at_20_kilohertz_does_not_show_a_rise_there(reference, at_most):
    """A stage exactly on the curve, by its three time constants in the spectrum of the sweep."""
    rate, seconds = 96_000, 12
    place = np.arange(rate * seconds) / rate
    pace = seconds / math.log(1000)
    sweep = 0.3 * np.sin(2 * math.pi * 20 * pace * np.expm1(place / pace))
    turn = 2j * math.pi * np.fft.rfftfreq(2 * len(sweep), 1 / rate)
    stage = (1 + turn * 318e-6) / ((1 + turn * 3180e-6) * (1 + turn * 75e-6))
    out = np.fft.irfft(np.fft.rfft(sweep, 2 * len(sweep)) * stage)[: len(sweep)]
    found = eq.deviation_of(
        wav.Recording(np.column_stack([out * 0.3 / np.abs(out).max(), sweep]), rate),
        "riaa",
        1,
        reference,
    )
    assert abs(found.worst_decibels) < at_most, found.says
