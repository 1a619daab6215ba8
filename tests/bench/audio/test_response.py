"""Leaks and filters that are known, found again in a recording."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.io import wavfile

from shop.bench import registry
from shop.bench.audio import response, separation, wav
from tests.bench.audio.waves import RATE, pair, sine, times


@pytest.mark.parametrize("decibels", [20, 60, 90])
def test_separation_of_a_known_leak(decibels):
    leak = sine(amplitude=0.5 * 10 ** (-decibels / 20), phase=1.0)
    assert separation.separation_of(pair(sine(), leak)).separation_decibels == pytest.approx(
        decibels, abs=0.01
    )
    assert separation.separation_of(pair(leak, sine())).driven_channel == 2


def test_separation_needs_two_channels_with_something_on_one():
    with pytest.raises(ValueError, match="separation needs 2"):
        separation.separation_of(wav.Recording(sine()[:, None], RATE))
    with pytest.raises(ValueError, match="silent on both"):
        separation.separation_of(pair(np.zeros(RATE), np.zeros(RATE)))


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


def log_sweep(seconds, rate=RATE, silence=0.5):
    """A logarithmic sweep of 20 Hz to 20 kHz, level, with silence before and after."""
    place = np.arange(int(seconds * rate)) / rate
    pace = math.log(1000)
    sweep = 0.5 * np.sin(2 * math.pi * 20 * seconds / pace * np.expm1(place / seconds * pace))
    quiet = np.zeros(int(silence * rate))
    return np.concatenate([quiet, sweep, quiet])


@pytest.mark.parametrize("seconds", [5, 20])
def test_a_level_sweep_is_level_to_its_ends(seconds):
    found = response.response_of(alone(log_sweep(seconds)))
    assert (found.method, found.lowest_hertz, found.highest_hertz) == ("sweep", None, None)
    assert found.ripple_decibels < 0.3
    assert found.hertz[0] < 45
    # The last third octave is filled up to 20 kHz: its middle is told, not its centre.
    assert found.hertz[-1] > 18_500


def test_noise_alone_is_no_sweep():
    with pytest.raises(ValueError, match="record what went in on the other channel"):
        response.response_of(alone(np.random.default_rng(1).normal(0, 0.1, 5 * RATE)))


@pytest.mark.parametrize("delay", [0.0, 0.02, 0.2, -0.1])
def test_a_delay_between_reference_and_output_is_taken_out(delay):
    """As between the heads of a tape deck."""
    white = np.random.default_rng(6).normal(0, 0.1, 20 * RATE)
    late = np.roll(filtered(white, 5000), int(delay * RATE))
    found = response.response_of(pair(late, white), 1, 2)
    wanted = low_pass(found.hertz, 5000) - low_pass(1000, 5000)
    assert np.max(np.abs(np.array(found.decibels) - wanted)) < 0.15
    assert found.delay_milliseconds == pytest.approx(1000 * delay, abs=0.1)
    assert min(found.coherence) > 0.98
    # First order: -3 dB of the level at 1 kHz lies a little above the corner.
    assert found.highest_hertz == pytest.approx(5148, rel=0.01)


def test_what_does_not_come_from_the_reference_is_said():
    draw = np.random.default_rng(7)
    white = draw.normal(0, 0.1, 10 * RATE)
    found = response.response_of(pair(0.1 * white + draw.normal(0, 0.1, 10 * RATE), white), 1, 2)
    assert max(found.coherence) < 0.1
    assert "Do not rely on them" in found.hints[0]


def test_a_level_multitone_is_level():
    tones = [31.5 * 1.00037 * 2**n for n in range(10)]
    found = response.response_of(alone(sum(sine(f, 0.05, phase=n) for n, f in enumerate(tones))))
    assert found.method == "multitone"
    assert found.ripple_decibels < 0.02
    assert found.hertz == pytest.approx(tones, rel=1e-4)


@pytest.mark.parametrize(
    ("idle", "least", "most", "hint"),
    [
        (lambda: np.random.default_rng(1).normal(0, 1e-4, 10 * RATE), 100, 130, "at least that"),
        (lambda: sine(1003, 0.01, seconds=10), 100, 130, "something else"),
        (
            lambda: sine(phase=1, amplitude=5e-4, seconds=10)
            + np.random.default_rng(1).normal(0, 1e-4, 10 * RATE),
            59.9, 60.1, "",
        ),
    ],
)  # fmt: skip
def test_separation_tells_its_floor(idle, least, most, hint):
    found = separation.separation_of(pair(sine(seconds=10), idle()))
    assert least < found.separation_decibels < most
    assert found.separation_decibels <= found.floor_decibels + 0.5
    assert hint in " ".join(found.hints)


def test_a_channel_with_nothing_on_it_was_not_recorded():
    with pytest.raises(ValueError, match="was not recorded"):
        separation.separation_of(pair(sine(), np.zeros(2 * RATE)))
