"""Leaks and filters that are known, found again in a recording."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.io import wavfile

from shop.bench import registry
from shop.bench.audio import response, wav
from tests.bench.audio.waves import RATE, pair, sine, times


@pytest.mark.parametrize("decibels", [20, 60, 90])
def test_separation_of_a_known_leak(decibels):
    leak = sine(amplitude=0.5 * 10 ** (-decibels / 20), phase=1.0)
    assert response.separation_of(pair(sine(), leak)).separation_decibels == pytest.approx(
        decibels, abs=0.01
    )
    assert response.separation_of(pair(leak, sine())).driven_channel == 2


def test_separation_needs_two_channels_with_something_on_one():
    with pytest.raises(ValueError, match="separation needs 2"):
        response.separation_of(wav.Recording(sine()[:, None], RATE))
    with pytest.raises(ValueError, match="silent on both"):
        response.separation_of(pair(np.zeros(RATE), np.zeros(RATE)))


def low_pass(hertz, corner):
    return -10 * np.log10(1 + (np.asarray(hertz) / corner) ** 2)


def filtered(samples, corner):
    spectrum = np.fft.rfft(samples)
    places = np.fft.rfftfreq(len(samples), 1 / RATE)
    return np.fft.irfft(spectrum / (1 + 1j * places / corner), len(samples))


def test_response_against_a_reference_is_the_filter():
    white = np.random.default_rng(6).normal(0, 0.1, 20 * RATE)
    found = response.response_of(pair(filtered(white, 5000), white), 1, 2)
    at = np.array(found.hertz)
    assert found.method == "reference"
    assert (
        np.max(np.abs(np.array(found.decibels) - low_pass(at, 5000) + low_pass(1000, 5000))) < 0.3
    )
    assert found.highest_hertz == pytest.approx(5000, rel=0.2)


def test_response_from_a_multitone_is_the_filter():
    tones = [31.5 * 2**n for n in range(10)]
    white = sum(sine(tone, 0.05, phase=n) for n, tone in enumerate(tones))
    found = response.response_of(wav.Recording(filtered(white, 3000)[:, None], RATE))
    at = np.array(found.hertz)
    assert found.method == "multitone"
    assert len(at) == 10
    nearest = at[np.argmin(np.abs(np.log(at / 1000)))]
    assert (
        np.max(np.abs(np.array(found.decibels) - low_pass(at, 3000) + low_pass(nearest, 3000)))
        < 0.1
    )


def test_response_from_a_sweep_is_the_filter():
    long = 20.0
    place = times(long)
    rate = math.log(20_000 / 20)
    sweep = 0.5 * np.sin(2 * math.pi * 20 * long / rate * np.expm1(place / long * rate))
    found = response.response_of(wav.Recording(filtered(sweep, 4000)[:, None], RATE))
    at, level = np.array(found.hertz), np.array(found.decibels)
    inside = (at > 100) & (at < 15_000)
    assert found.method == "sweep"
    wanted = low_pass(at, 4000) - low_pass(1000, 4000)
    assert np.max(np.abs(level - wanted)[inside]) < 0.5


def alone(samples):
    return wav.Recording(np.asarray(samples)[:, None], RATE)


@pytest.mark.parametrize(
    ("act", "sentence"),
    [
        (lambda: response.response_of(alone(np.zeros(RATE))), "silent on this channel"),
        (lambda: response.response_of(pair(sine(), sine()), 1, 1), "must be another channel"),
        (lambda: response.response_of(pair(sine(), np.zeros(2 * RATE)), 1, 2), "reference channel is silent"),
        (lambda: response.response_of(alone(sine())), "No sweep or multitone was found"),
        (lambda: response.response_of(pair(sine(), sine()), 1, 2), "Too few frequencies were found"),
    ],
)  # fmt: skip
def test_what_shows_no_response_gets_a_sentence(act, sentence):
    with pytest.raises(ValueError, match=sentence):
        act()


def test_a_high_pass_has_its_lower_corner():
    """First-order high-pass: -3.01 dB at its corner, in third octaves at the next centre."""
    white = np.random.default_rng(9).normal(0, 0.1, 20 * RATE)
    spectrum = np.fft.rfft(white)
    turn = 1j * np.fft.rfftfreq(len(white), 1 / RATE) / 200
    found = response.response_of(
        pair(np.fft.irfft(spectrum * turn / (1 + turn), len(white)), white), 1, 2
    )
    assert found.lowest_hertz == pytest.approx(200, rel=0.26)
    assert found.highest_hertz is None


def test_the_shell_reads_files(tmp_path):
    left, right = sine(), sine(amplitude=0.005)
    wavfile.write(tmp_path / "pair.wav", RATE, np.column_stack([left, right]).astype(np.float32))
    path = str(tmp_path / "pair.wav")
    assert registry.run("separation", {"path": path})["separation_decibels"] == pytest.approx(
        40, abs=1e-3
    )
    white = np.random.default_rng(6).normal(0, 0.1, 5 * RATE)
    wavfile.write(tmp_path / "flat.wav", RATE, np.column_stack([white, white]).astype(np.float32))
    flat = registry.run(
        "frequency-response",
        {"path": str(tmp_path / "flat.wav"), "channel": 1, "reference_channel": 2},
    )
    assert flat["decibels"] == pytest.approx([0.0] * len(flat["hertz"]), abs=1e-4)
