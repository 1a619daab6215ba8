from __future__ import annotations

import math

import numpy as np
import pytest

from shop.bench.audio import signals, stepped
from shop.bench.audio.distortion import clip_level, clipped_sine
from tests.bench.audio.waves import RATE, as_file, sine

CLIPS_AT = 0.45  # peak at which the stage of these tests runs out of volts


def noisy(samples, level=1e-5):
    return samples + np.random.default_rng(3).normal(0, level, len(samples))


def late(samples, seconds):
    return np.concatenate([np.zeros(round(seconds * RATE)), samples])


@pytest.fixture(scope="module")
def rising():
    return signals.signal("steps", level_decibels=0)


@pytest.mark.parametrize("latency", [0, 0.0031, 0.137, 0.249])
def test_the_level_at_one_percent_is_that_of_the_closed_form(rising, latency):
    """A hard limit: 1 % where the closed form of the clipped sine has it, within a tenth of a dB."""
    found = stepped.stepped_of(
        noisy(np.clip(late(rising, latency), -CLIPS_AT, CLIPS_AT)), RATE, full_scale_volts=20
    )
    peak = CLIPS_AT / (clip_level(1.0).clip_percent / 100)
    total = peak * math.sqrt(2 * clipped_sine(100 * CLIPS_AT / peak).mean_square)
    assert found.clipping_decibels == pytest.approx(20 * math.log10(total), abs=0.15)
    assert found.clipping_volts == pytest.approx(20 * total, rel=0.02)
    assert found.steps == len(signals.STEP_DECIBELS)
    assert found.lowest_thd_n_percent < 0.02


def test_power_is_of_these_volts_in_the_load(rising):
    found = stepped.stepped_of(
        np.clip(rising, -CLIPS_AT, CLIPS_AT), RATE, full_scale_volts=20, load_ohms=8
    )
    assert found.clipping_watts == pytest.approx(found.clipping_volts**2 / 8)


def test_a_soft_curve_has_its_closed_form_at_every_step():
    """x - x^3/3 makes of a sine of peak A a third harmonic of A^2/12 / (1 - A^2/4)."""
    made = signals.signal("steps", level_decibels=-3)
    found = stepped.stepped_of(made - made**3 / 3, RATE)
    peaks = [10 ** ((step - 3) / 20) for step in signals.STEP_DECIBELS]
    want = [100 * a**2 / 12 / (1 - a**2 / 4) for a in peaks]
    assert found.thd_n_percent == pytest.approx(want, rel=0.01)
    inside = np.interp(1.0, want, [20 * math.log10(a * (1 - a**2 / 4)) for a in peaks])
    assert found.clipping_decibels == pytest.approx(inside, abs=0.02)


def test_what_is_not_reached_is_said(rising):
    found = stepped.stepped_of(noisy(rising * 0.5), RATE, full_scale_volts=20, load_ohms=8)
    assert (found.clipping_decibels, found.clipping_volts, found.clipping_watts) == (
        None, None, None,
    )  # fmt: skip
    assert "1 % was not reached" in found.hints[0]


def test_a_unit_that_switches_off_is_measured_up_to_there(rising):
    cut = noisy(np.clip(rising, -CLIPS_AT, CLIPS_AT))
    cut[round(12.5 * RATE) :] = 0
    found = stepped.stepped_of(cut, RATE)
    assert found.steps < len(signals.STEP_DECIBELS)
    assert found.clipping_decibels == pytest.approx(-6.65, abs=0.15)


def test_noise_at_every_level_is_no_clipping(rising):
    found = stepped.stepped_of(noisy(rising * 0.4, 0.02), RATE)
    assert "No step is below 1 %" in found.hints[0]


@pytest.mark.parametrize(
    ("samples", "said"),
    [
        (np.random.default_rng(1).normal(0, 0.1, 4 * RATE), "No steps of a tone were found"),
        (sine(seconds=0.5), "No steps of a tone were found"),
        (np.zeros(4 * RATE), "silent on this channel"),
        (np.clip(signals.signal("steps", level_decibels=0) * 3, -1, 1), "recording itself is clipped"),
    ],
)  # fmt: skip
def test_what_is_no_stepped_tone_gets_a_sentence(samples, said):
    with pytest.raises(ValueError, match=said):
        stepped.stepped_of(samples, RATE)


def test_from_the_shell(rising, tmp_path):
    file = tmp_path / "steps.wav"
    file.write_bytes(as_file(np.clip(rising, -CLIPS_AT, CLIPS_AT)).getvalue())
    assert stepped.stepped(str(file)).clipping_decibels == pytest.approx(-6.65, abs=0.15)
