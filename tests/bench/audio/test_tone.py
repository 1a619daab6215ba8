"""Tones whose spectrum is known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.io import wavfile

from shop.bench import registry
from shop.bench.audio import tone
from tests.bench.audio.waves import RATE, sine
from tests.helpers_plain import examples


@settings(max_examples=examples(25), deadline=None)
@given(
    st.floats(40, 4000), st.floats(0.05, 0.6), st.floats(1e-4, 0.2), st.floats(1e-4, 0.2),
    st.floats(0, 6.28), st.floats(-0.05, 0.05),
)  # fmt: skip
def test_harmonics_put_in_are_found_again(hertz, amplitude, second, third, phase, offset):
    wave = sine(hertz, amplitude, phase=phase) + offset
    wave += sine(2 * hertz, amplitude * second, phase=1.0)
    wave += sine(3 * hertz, amplitude * third, phase=2.0)
    found = tone.tone_of(wave, RATE)
    assert found.hertz == pytest.approx(hertz, rel=1e-6)
    assert found.second_percent == pytest.approx(100 * second, rel=1e-4)
    assert found.third_percent == pytest.approx(100 * third, rel=1e-4)
    assert found.thd_f_percent == pytest.approx(100 * math.hypot(second, third), rel=1e-4)
    assert found.offset_percent == pytest.approx(100 * offset, abs=0.05)


@settings(max_examples=examples(15), deadline=None)
@given(st.floats(0.01, 0.8))
def test_loudness_changes_the_level_and_nothing_else(gain):
    wave = sine() + sine(1994, 0.005)
    loud, soft = tone.tone_of(wave, RATE), tone.tone_of(gain * wave, RATE)
    assert soft.level_decibels == pytest.approx(loud.level_decibels + 20 * math.log10(gain))
    assert soft.thd_f_percent == pytest.approx(loud.thd_f_percent)


def test_noise_of_a_known_power_is_measured():
    noise = np.random.default_rng(1).normal(0, 0.001, 2 * RATE)
    found = tone.tone_of(sine(amplitude=0.5) + noise, RATE)
    in_band = 0.001 * math.sqrt(20_000 / 24_000)
    assert found.snr_decibels == pytest.approx(
        20 * math.log10(0.5 / math.sqrt(2) / in_band), abs=0.15
    )
    assert found.thd_n_percent == pytest.approx(100 * in_band / (0.5 / math.sqrt(2)), rel=0.02)
    assert found.snr_a_decibels > found.snr_decibels


def test_a_narrower_band_lets_less_noise_through():
    noise = np.random.default_rng(2).normal(0, 0.001, 2 * RATE)
    wide, narrow = (
        tone.tone_of(sine() + noise, RATE, bandwidth_hertz=band) for band in (20_000, 5_000)
    )
    assert narrow.thd_n_percent < wide.thd_n_percent / 1.8
    assert narrow.bandwidth_hertz == 5_000


@pytest.mark.parametrize(
    ("samples", "sentence"),
    [
        (np.zeros(RATE), "is silent on this channel"),
        (np.full(RATE, 0.3), "is silent on this channel"),
        (np.clip(sine(amplitude=2.0), -1, 1), "recording itself is clipped"),
    ],
)
def test_samples_that_cannot_serve_get_a_sentence(samples, sentence):
    with pytest.raises(ValueError, match=sentence):
        tone.tone_of(samples, RATE)


def hints(samples):
    return " ".join(tone.tone_of(samples, RATE).hints)


def test_what_a_tone_hints_at():
    assert "Flat tops" in hints(np.clip(sine(amplitude=0.5), -0.35, 0.35))
    assert "Flat tops" not in hints(sine())
    assert "direct voltage of 10.0 %" in hints(sine() + 0.1)
    assert "Even harmonics lead" in hints(sine() + sine(1994, 0.02))
    assert "Odd harmonics lead" in hints(sine() + sine(2991, 0.02))


def test_the_shell_face_reads_a_path(tmp_path):
    wavfile.write(tmp_path / "tone.wav", RATE, sine().astype(np.float32))
    found = registry.run("tone", {"path": str(tmp_path / "tone.wav"), "full_scale_volts": 10.0})
    assert found["level_volts"] == pytest.approx(5.0, rel=1e-4)
    with pytest.raises(ValueError, match="there is no such file"):
        registry.run("tone", {"path": str(tmp_path / "none.wav")})
