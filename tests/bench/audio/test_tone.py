"""Tones whose spectrum is known."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import example, given, settings
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
@example(40.125, 0.44, 0.18, 0.007, 0.83, 0.002)  # a last cycle cut short, once taken for wow
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


def long_tone(hertz, harmonics=(), noise=0.0, seconds=10, rate=RATE, amplitude=0.5):
    """A tone with (multiple, share) harmonics in white noise: numpy alone."""
    place = np.arange(int(seconds * rate)) / rate
    wave = np.sin(2 * np.pi * hertz * place)
    for multiple, share in harmonics:
        wave += share * np.sin(2 * np.pi * multiple * hertz * place + multiple)
    return amplitude * wave + np.random.default_rng(1).normal(0, noise, len(place))


@pytest.mark.parametrize("share", [0, 1e-3, 1e-2, 0.1])
@pytest.mark.parametrize("hertz", [1000.0, 1000.005, 997.3])
def test_signal_to_noise_knows_nothing_of_harmonics_or_clocks(share, hertz):
    wave = long_tone(hertz, ((2, 0.8 * share), (3, 0.6 * share)), noise=3e-6)
    found = tone.tone_of(wave, RATE)
    in_band = 3e-6 * math.sqrt(20_000 / 24_000)
    assert found.snr_decibels == pytest.approx(
        20 * math.log10(0.5 / math.sqrt(2) / in_band), abs=0.2
    )
    assert found.thd_f_percent == pytest.approx(100 * share, abs=2e-4)


def test_a_drift_adds_no_noise():
    wave = long_tone(1000.005, noise=3e-6)
    drift = 0.1 * np.arange(len(wave)) / len(wave)
    assert tone.tone_of(wave + drift, RATE).snr_decibels == pytest.approx(
        tone.tone_of(wave, RATE).snr_decibels, abs=0.2
    )


@pytest.mark.parametrize(
    ("hertz", "wow"), [(3150, 0.001), (3150, 0.003), (3000, 0.0002), (1000, 0.001)]
)
def test_a_tone_with_wow_is_straightened(hertz, wow):
    """Two slow swings of frequency; the root of their mean square is the wow put in."""
    place = np.arange(10 * RATE) / RATE
    phase = 2 * np.pi * hertz * place
    for swing in (0.55, 4.0):
        phase += hertz * wow / swing * np.sin(2 * np.pi * swing * place + swing)
    wave = 0.5 * np.sin(phase) + 0.015 * np.sin(3 * phase + 1)
    found = tone.tone_of(wave + np.random.default_rng(1).normal(0, 1e-4, len(wave)), RATE)
    assert found.thd_f_percent == pytest.approx(3, abs=0.01)
    assert found.level_decibels == pytest.approx(-6.02, abs=0.02)
    assert found.wander_percent == pytest.approx(100 * wow, rel=0.05)
    assert "speed wanders" in found.hints[0]
    in_band = 1e-4 * math.sqrt(20_000 / 24_000)
    assert found.snr_decibels == pytest.approx(20 * math.log10(0.35355 / in_band), abs=0.6)


@pytest.mark.parametrize(
    "wave",
    [
        np.random.default_rng(2).normal(0, 0.1, 5 * RATE),
        0.5 * np.sin(1e4 * np.expm1(np.arange(5 * RATE) / RATE / 2)),
    ],
    ids=["noise", "chirp"],
)
def test_what_is_no_tone_gets_no_distortion(wave):
    with pytest.raises(ValueError, match="No steady tone was found"):
        tone.tone_of(wave, RATE)


@pytest.mark.parametrize(("low", "high", "side"), [(-1, 0.35, "upper"), (-0.35, 1, "lower")])
def test_clipping_of_one_side_is_named(low, high, side):
    assert f"The {side} half alone has flat tops" in hints(np.clip(sine(), low, high))


def test_floating_point_goes_on_above_full_scale():
    found = tone.tone_of(sine(amplitude=1.4), RATE)
    assert found.level_decibels == pytest.approx(20 * math.log10(1.4), abs=1e-3)
    with pytest.raises(ValueError, match="itself is clipped"):
        tone.tone_of(np.clip(sine(amplitude=1.4), -1.2, 1.2), RATE)


@pytest.mark.parametrize("bits", [8, 12])
def test_few_bits_are_told(bits):
    steps = 2 ** (bits - 1)
    assert f"has {bits} bits" in hints(np.round(sine() * steps) / steps)
    assert "bits" not in hints(np.round(sine() * 2**15) / 2**15)


def test_twenty_hertz_at_a_high_rate_is_done_in_time():
    wave = long_tone(20.003, ((2, 0.008), (3, 0.006)), noise=3e-5, seconds=6, rate=192_000)
    began = time.process_time()
    found = tone.tone_of(wave, 192_000)
    assert found.thd_f_percent == pytest.approx(1.0, abs=1e-3)
    assert time.process_time() - began < 20
