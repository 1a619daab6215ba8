"""A tone whose speed wanders: followed, told, and straightened before its harmonics are read.

Tape and turntable carry wow and flutter. The tone is cut out by a band about it, the phase of
what is left says where the sound was at each moment, and the samples are read again at an even
pace of that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from shop.bench.audio.spectrum import LOWEST_HERTZ, window_of
from shop.bench.audio.wav import Samples

STEADY_RADIANS = 0.02  # less than this of phase is noise, and no wander
MOST_WANDER = 0.03  # of the frequency, to each side
_FINE_RATE = 150_000  # between samples this close a spline loses nothing of the audio band
# Of the length: there the filter rings. A fade over twice that keeps a last cycle cut short from
# ringing into the middle, where it would look like wow.
_ENDS = 0.04


@dataclass(frozen=True)
class Wander:
    """How a tone wanders: its mean frequency, the phase over a steady one, and the deviation.

    `percent` is the root of the mean square of the deviation of frequency; `lively` how much the
    level changes, as a share of itself: a tone keeps it, noise and a sweep do not.
    """

    hertz: float
    phase: Samples
    percent: float
    lively: float

    @property
    def steady(self) -> bool:
        """Whether nothing needs to be straightened."""
        return float(np.std(self.phase)) < STEADY_RADIANS


def follow(samples: Samples, rate: int) -> Wander:
    """Return how the strongest tone of samples wanders."""
    moving = samples - samples.mean()
    lines = np.fft.rfft(moving * window_of(len(moving)))
    lowest = max(1, int(LOWEST_HERTZ * 0.5 * len(moving) / rate))
    about = (lowest + int(np.argmax(np.abs(lines[lowest:])))) * rate / len(moving)
    band = max(MOST_WANDER * about, min(12 * rate / len(moving), 0.4 * about))
    fade = scipy.signal.windows.tukey(len(moving), 4 * _ENDS)
    analytic = _cut_out(moving * fade, rate, about, band)
    turned = np.unwrap(np.angle(analytic))
    place = np.arange(len(moving)) / rate
    ends = max(1, int(_ENDS * len(moving)))
    inner = slice(ends, len(moving) - ends)
    slope, _ = np.polyfit(place[inner], turned[inner], 1)
    phase = turned - slope * place
    phase -= phase[inner].mean()
    size = np.abs(analytic[inner]) / fade[inner]
    pace = np.gradient(turned[inner]) * rate / slope - 1
    return Wander(
        float(slope / (2 * math.pi)), _held(phase, ends), 100 * float(np.std(pace)),
        float(np.std(size) / size.mean()),
    )  # fmt: skip


def _cut_out(moving: Samples, rate: int, about: float, band: float) -> NDArray[np.complex128]:
    """Return the part about a frequency as turning numbers, the band falling off to its edges."""
    lines = np.fft.fft(moving)
    off = np.abs(np.fft.fftfreq(len(moving), 1 / rate) - about) / band
    inside = np.where(off < 1, np.cos(0.5 * math.pi * np.clip(off - 0.6, 0, 0.4) / 0.4) ** 2, 0)
    part: NDArray[np.complex128] = np.fft.ifft(2 * lines * inside)
    return part


def _held(phase: Samples, ends: int) -> Samples:
    """Return the phase with its ends, where the filter rings, held level."""
    phase = phase.copy()
    phase[:ends], phase[-ends:] = phase[ends], phase[-ends - 1]
    return phase


def straightened(samples: Samples, rate: int, wander: Wander) -> Samples:
    """Return samples as they were at an even speed, of the same length."""
    times = -(-_FINE_RATE // rate)
    fine = scipy.signal.resample(samples, len(samples) * times) if times > 1 else samples
    # At moment t the sound was as far as t + phase / (2 pi f): read it where that is even.
    reached = np.arange(len(samples)) + wander.phase / (2 * math.pi * wander.hertz) * rate
    moments = np.interp(np.arange(len(samples)), reached, np.arange(len(samples)))
    even: Samples = scipy.ndimage.map_coordinates(fine, [moments * times], order=5, mode="nearest")
    return even
