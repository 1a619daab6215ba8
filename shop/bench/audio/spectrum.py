"""What a recording holds: tones, harmonics and noise, taken apart.

The fundamental is found by a four-parameter sine fit (IEEE Std 1057), harmonics by projection
under a window whose side lobes lie 180 dB down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy

from shop.bench.audio.wav import SILENT, Samples

# Seven-term Blackman-Harris: side lobes below -180 dB.
_TERMS = [
    0.27105140069342, -0.43329793923448, 0.21812299954311, -0.06592544638803,
    0.01081174209837, -0.00077658482522, 0.00001388721735,
]  # fmt: skip
LONGEST_MEASURED_SECONDS = 10.0
# The analysis takes some fifteen times the memory of what it is given.
MOST_MEASURED = 2**20
LOBE = 8  # a tone under the window takes so many places to each side
MOST_HARMONICS = 1000
LOWEST_HERTZ = 20.0
NO_TONE = "No steady tone was found; record one frequency for a second or more."


@dataclass(frozen=True, slots=True, kw_only=True)
class Spectrum:
    """A recording taken apart: offset, fundamental, harmonics (peak, full scale), residue (rms)."""

    offset: float
    hertz: float
    amplitude: float
    harmonics: tuple[float, ...]
    residue: float
    noise: float
    weighted_noise: float
    total: float


def middle_of(samples: Samples, rate: int) -> Samples:
    """Return ten seconds from the middle, or 2**20 samples: starts and ends carry switching and fades."""
    most = min(int(LONGEST_MEASURED_SECONDS * rate), MOST_MEASURED)
    start = max(0, (len(samples) - most) // 2)
    middle: Samples = samples[start : start + most]
    return middle


def take_apart(samples: Samples, rate: int, bandwidth: float) -> Spectrum:
    """Return offset, fundamental, harmonics and what is left, up to `bandwidth` in Hz.

    ValueError with a sentence when there is no tone from 8 Hz up.
    """
    window = window_of(len(samples))
    offset = float(np.sum(samples * window) / np.sum(window))
    moving = samples - offset
    hertz = _sine_fit(moving, rate)
    fundamental, amplitude = _fitted(moving, rate, hertz)
    if amplitude < SILENT:  # what moves is slower than a tone: drift, a step, motorboating
        raise ValueError(NO_TONE)
    residue, noise, weighted = _powers(moving - fundamental, rate, hertz, bandwidth)
    return Spectrum(
        offset=offset,
        hertz=hertz,
        amplitude=amplitude,
        harmonics=_harmonics(moving, rate, hertz, bandwidth),
        residue=residue,
        noise=noise,
        weighted_noise=weighted,
        total=math.sqrt(amplitude**2 / 2 + residue**2),
    )


def window_of(count: int) -> Samples:
    """Return the seven-term window of so many samples."""
    window: Samples = scipy.signal.windows.general_cosine(
        count, [abs(term) for term in _TERMS], sym=False
    )
    return window


def _sine_fit(moving: Samples, rate: int) -> float:
    """Return the frequency of the strongest tone in Hz (coarse peak, then least squares)."""
    window = window_of(len(moving))
    power = np.abs(np.fft.rfft(moving * window))
    lowest = max(1, int(LOWEST_HERTZ * 0.5 * len(moving) / rate))
    peak = lowest + int(np.argmax(power[lowest:]))
    hertz = peak * rate / len(moving)
    for _ in range(12):
        step = frequency_step(moving, window, rate, hertz)
        hertz += step
        if abs(step) < 1e-12 * hertz:
            break
    if not LOWEST_HERTZ * 0.4 <= hertz < rate / 2:
        raise ValueError(NO_TONE)
    return hertz


def frequency_step(moving: Samples, window: Samples, rate: int, hertz: float) -> float:
    """Return one Gauss-Newton step of the sine fit, weighted so that harmonics do not pull at it."""
    place = np.arange(len(moving)) / rate
    cosine, sine = np.cos(2 * math.pi * hertz * place), np.sin(2 * math.pi * hertz * place)
    a, b = _least_squares(np.column_stack([cosine, sine]), moving, window)
    slope = 2 * math.pi * (place - place.mean()) * (-a * sine + b * cosine)
    *_, step = _least_squares(np.column_stack([cosine, sine, slope]), moving, window)
    # Never more than half a bin at once: a far jump would land on another tone.
    most = 0.5 * rate / len(moving)
    return float(np.clip(step, -most, most))


def _least_squares(basis: Samples, moving: Samples, window: Samples) -> Samples:
    weighted = basis * window[:, None]
    factors = np.linalg.solve(weighted.T @ basis, weighted.T @ moving)
    return np.asarray(factors, dtype=np.float64)


def _fitted(moving: Samples, rate: int, hertz: float) -> tuple[Samples, float]:
    """Return the fundamental and its amplitude."""
    angle = 2 * math.pi * hertz * np.arange(len(moving)) / rate
    basis = np.column_stack([np.cos(angle), np.sin(angle)])
    factors = _least_squares(basis, moving, window_of(len(moving)))
    return basis @ factors, math.hypot(*factors)


def amplitude_at(moving: Samples, rate: int, hertz: float) -> float:
    """Return the amplitude at one frequency, side lobes of others 180 dB down."""
    window = window_of(len(moving))
    turn = np.exp(-2j * math.pi * hertz * np.arange(len(moving)) / rate)
    return float(2 * abs(np.sum(moving * window * turn)) / np.sum(window))


def _harmonics(moving: Samples, rate: int, hertz: float, bandwidth: float) -> tuple[float, ...]:
    most = min(MOST_HARMONICS, int(min(bandwidth * 1.000001, rate / 2 * 0.999) / hertz))
    if most < 2:
        return ()
    window = window_of(len(moving))
    places: Samples = hertz * np.arange(2, most + 1, dtype=np.float64)
    amplitudes = _spectrum_at(moving * window, rate, places)
    return tuple(float(one) for one in 2 * amplitudes / window.sum())


def _spectrum_at(windowed: Samples, rate: int, hertz: Samples) -> Samples:
    """Return the size of the spectrum at any frequencies, by one transform for all of them.

    Twice the length, the middle of the samples at the origin: the spectrum is then smooth from
    place to place, and a polynomial through twelve of them meets it to a part in a million.
    """
    count, size = len(windowed), scipy.fft.next_fast_len(2 * len(windowed), real=True)
    turned = np.zeros(size)
    turned[: count - count // 2] = windowed[count // 2 :]
    turned[size - count // 2 :] = windowed[: count // 2]
    lines = np.fft.rfft(turned)
    at = hertz * size / rate
    first = np.clip(np.floor(at).astype(int) - 5, 0, len(lines) - 12)
    found = np.zeros(len(at), dtype=complex)
    for place in range(12):
        others = [other for other in range(12) if other != place]
        shares = np.prod([(at - first - n) / (place - n) for n in others], axis=0)
        found += shares * lines[first + place]
    sizes: Samples = np.abs(found)
    return sizes


def power_of(samples: Samples, rate: int) -> tuple[Samples, Samples]:
    """Return the mean square of each place of the spectrum and its frequency, under the window.

    Drift and tones that do not end on a whole cycle stay within `LOBE` places of their own.
    """
    window = window_of(len(samples))
    power: Samples = np.abs(np.fft.rfft(samples * window)) ** 2
    power *= 2 / (len(samples) * float(window @ window))
    places: Samples = np.fft.rfftfreq(len(samples), 1 / rate).astype(np.float64)
    return power, places


def _powers(left: Samples, rate: int, hertz: float, bandwidth: float) -> tuple[float, float, float]:
    """Return r.m.s. of the residue, of its noise (harmonics taken out), and that noise A-weighted."""
    power, places = power_of(left, rate)
    inside = (places >= LOWEST_HERTZ * 0.5) & (places <= bandwidth)
    nearest = np.abs(places - np.round(places / hertz) * hertz)
    lobe = min(LOBE * rate / len(left), 0.4 * hertz)
    noisy = inside & ((nearest > lobe) | (places < hertz / 2))
    # What the harmonics' places hold of noise is drawn from one side of them to the other.
    floor = np.interp(places, places[noisy], _smooth(power[noisy])) if noisy.any() else power
    noise = np.where(noisy, power, floor)[inside]
    weighted = noise * a_weighting(places[inside]) ** 2
    return math.sqrt(power[inside].sum()), math.sqrt(noise.sum()), math.sqrt(weighted.sum())


def _smooth(power: Samples) -> Samples:
    mean: Samples = scipy.ndimage.uniform_filter1d(power, 33, mode="nearest")
    return mean


def a_weighting(hertz: Samples) -> Samples:
    """Return the A-weighting as a gain, 1.0 at 1 kHz. Source: IEC 61672-1, formula and table."""
    square = np.asarray(hertz, dtype=float) ** 2
    gain = (12194.217**2 * square**2) / (
        (square + 20.598997**2)
        * np.sqrt((square + 107.65265**2) * (square + 737.86223**2))
        * (square + 12194.217**2)
    )
    # 1.9997 dB brings 1 kHz to exactly nothing.
    weighted: Samples = gain * 10 ** (1.9997 / 20)
    return weighted


def tones_of(samples: Samples, rate: int, floor_decibels: float = 60.0) -> tuple[Samples, Samples]:
    """Return frequencies in Hz and amplitudes of all tones within so many dB of the strongest.

    Between two places of the spectrum a parabola through its logarithm finds the top.
    """
    window = window_of(len(samples))
    sizes = np.abs(np.fft.rfft((samples - samples.mean()) * window))
    threshold = sizes.max() * 10 ** (-floor_decibels / 20)
    places, _ = scipy.signal.find_peaks(sizes, height=max(threshold, 1e-12), distance=8)
    before, top, after = (np.log(np.maximum(sizes[places + n], 1e-30)) for n in (-1, 0, 1))
    off = 0.5 * (before - after) / (before - 2 * top + after)
    hertz = (places + off) * rate / len(samples)
    amplitudes = 2 * np.exp(top - 0.25 * (before - after) * off) / window.sum()
    heard = hertz >= 10
    return hertz[heard], amplitudes[heard]


def peaks_of(samples: Samples, rate: int, floor_decibels: float = 60.0) -> list[float]:
    """Return the frequencies of all tones within so many dB of the strongest, in Hz."""
    return [float(tone) for tone in tones_of(samples, rate, floor_decibels)[0]]


def decibels_of(ratio: float) -> float:
    """Return a ratio of voltages in dB, -300 dB for nothing at all."""
    return 20 * math.log10(max(ratio, 1e-15))
