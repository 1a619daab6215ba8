"""The network and the meter of ITU-R BS.468."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench.audio import noise, quasi_peak
from tests.bench.audio.waves import RATE, sine
from tests.helpers_plain import examples


@settings(max_examples=examples(10), deadline=None)
@given(st.floats(100, 15_000), st.floats(0.01, 0.9), st.sampled_from([44_100, 48_000, 96_000]))
def test_a_steady_tone_reads_its_peak_behind_the_network(hertz, amplitude, rate):
    wave = sine(hertz, amplitude, 2.0, rate)
    gain = float(quasi_peak.weighting_468(np.array([hertz]))[0])
    found = quasi_peak.quasi_peak(quasi_peak.weighted_468(wave, rate), rate)
    assert found == pytest.approx(gain * amplitude, rel=0.03)


# The least and the most that the standard lets a meter show, from memory.
@pytest.mark.parametrize(
    ("milliseconds", "least", "most"),
    [(1, 13.5, 21.4), (2, 22.4, 31.6), (5, 34, 46), (10, 41, 55), (20, 44, 60), (50, 50, 68), (100, 58, 78), (200, 68, 92)],
)  # fmt: skip
def test_one_burst_stays_within_the_limits(milliseconds, least, most):
    steady = sine(5000, 0.5, 2.0)
    burst = np.where(np.arange(len(steady)) < milliseconds * RATE / 1000, steady, 0)
    shown = 100 * quasi_peak.quasi_peak(burst, RATE) / quasi_peak.quasi_peak(steady, RATE)
    assert least <= shown <= most


def test_a_click_counts_for_more_than_its_power():
    clicks = np.zeros(2 * RATE)
    clicks[:: RATE // 4] = 0.5
    found = noise.noise_of(clicks, RATE)
    assert found.noise_468_decibels > found.noise_a_decibels + 10


def test_hum_counts_for_less():
    found = noise.noise_of(sine(50, 0.01), RATE)
    assert found.noise_468_decibels == pytest.approx(found.noise_decibels - 26, abs=1)
