"""Noise as ITU-R BS.468 hears it: its weighting network and its quasi-peak meter."""

from __future__ import annotations

import math

import numpy as np
import scipy
from numpy.typing import NDArray

from shop.bench.audio.wav import Samples

# ITU-R BS.468-4: the passive network as a ratio of polynomials in j f, as reference works print it.
_REAL = (1.0, -1.363894795463638e-7, 2.043828333606125e-15, -4.737338981378384e-24)
_IMAGINARY = (5.559488023498642e-4, -2.118150887518656e-11, 1.306612257412824e-19)
# Two rectifiers in a row, each with a time to rise and one to fall, in s. They are fitted to the
# table of single and repeated bursts of BS.468-4, which tells no circuit, and meet all its limits.
_FIRST, _SECOND = (1.4444e-3, 0.2941), (0.1402, 0.16408)
_STEADY = 0.98068  # what the second shows of the peak of a steady tone


def weighting_468(hertz: Samples) -> Samples:
    """Return the weighting as a gain, 1.0 at 1 kHz. Source: ITU-R BS.468-4, network and table."""
    gain: Samples = np.abs(_network(np.asarray(hertz, dtype=np.float64)))
    return gain


def _network(hertz: Samples) -> NDArray[np.complex128]:
    level: NDArray[np.complex128] = _ratio(hertz) / abs(_ratio(np.array([1000.0]))[0])
    return level


def _ratio(hertz: Samples) -> NDArray[np.complex128]:
    square = hertz**2
    real = sum(factor * square**n for n, factor in enumerate(_REAL))
    imaginary = hertz * sum(factor * square**n for n, factor in enumerate(_IMAGINARY))
    ratio: NDArray[np.complex128] = 1j * hertz / (real + 1j * imaginary)
    return ratio


def weighted_468(samples: Samples, rate: int) -> Samples:
    """Return samples behind the network, with its phase: clicks keep their shape."""
    size = scipy.fft.next_fast_len(len(samples) + rate // 20, real=True)
    lines = np.fft.rfft(samples, size)
    lines *= _network(np.fft.rfftfreq(size, 1 / rate).astype(np.float64))
    behind: Samples = np.fft.irfft(lines, size)[: len(samples)]
    return behind


def quasi_peak(samples: Samples, rate: int) -> float:
    """Return the highest reading of the meter: 1.0 for a steady sine of peak 1.0."""
    rise, fall, rise_2, fall_2 = (1 - math.exp(-1 / (t * rate)) for t in (*_FIRST, *_SECOND))
    first = second = highest = 0.0
    for value in np.abs(samples).tolist():
        first += (value - first) * (rise if value > first else fall)
        second += (first - second) * (rise_2 if first > second else fall_2)
        highest = max(highest, second)
    return highest / _STEADY
