"""A recording taken apart, beside closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shop.bench.audio import spectrum
from tests.bench.audio.waves import RATE, sine


def test_the_middle_of_a_long_recording_is_ten_seconds():
    long = np.arange(30 * RATE)
    middle = spectrum.middle_of(long, RATE)
    assert (len(middle), middle[0]) == (10 * RATE, 10 * RATE)
    assert len(spectrum.middle_of(long[:RATE], RATE)) == RATE


@pytest.mark.parametrize("hertz", [50.3, 997.0, 7001.7, 19_999.1])
def test_amplitude_at_a_frequency_is_the_one_put_in(hertz):
    wave = sine(hertz, 0.25) + sine(4321.0, 0.5)
    assert spectrum.amplitude_at(wave, RATE, hertz) == pytest.approx(0.25, rel=1e-9)


def test_each_tone_of_a_multitone_is_found_and_what_is_too_soft_is_not():
    tones = [100.0, 1000.0, 10_000.0]
    wave = sum(sine(tone, 0.1) for tone in tones) + sine(3000.0, 0.1 * 10 ** (-70 / 20))
    assert spectrum.peaks_of(wave, RATE) == pytest.approx(tones, abs=0.5)


@pytest.mark.parametrize(
    "wave",
    [
        sine(3.0, seconds=1.0),
        sine(5.0, seconds=5.0),
        np.linspace(-0.5, 0.5, RATE),
        np.repeat([0.0, 0.5], RATE // 2),
        0.5 * np.cos(math.pi * np.arange(RATE)),
    ],
    ids=["3 Hz", "5 Hz", "drift", "step", "half the rate"],
)
def test_what_moves_slower_or_faster_than_a_tone_is_none(wave):
    with pytest.raises(ValueError, match="No steady tone was found"):
        spectrum.take_apart(wave, RATE, 20_000)


def test_noise_alone_still_has_a_strongest_frequency():
    noise = np.random.default_rng(4).normal(0, 0.01, RATE)
    assert 8 <= spectrum.take_apart(noise, RATE, 20_000).hertz < RATE / 2


def test_nothing_at_all_is_300_decibels_down():
    assert spectrum.decibels_of(0.0) == pytest.approx(-300)
    assert spectrum.decibels_of(1 / math.sqrt(2)) == pytest.approx(-3.0103, abs=1e-4)
