"""A tone in a recording: level, harmonics, noise, and what they hint at.

The fundamental is found by a four-parameter sine fit (IEEE Std 1057), harmonics by projection
under a window whose side lobes lie 180 dB down. Ratios follow IEC 60268-3 and AES17.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.signal import find_peaks
from scipy.signal.windows import general_cosine

from shop.bench.audio.wav import SILENT, Samples, read_wav
from shop.bench.inputs import within

# Seven-term Blackman-Harris: side lobes below -180 dB.
_TERMS = [
    0.27105140069342, -0.43329793923448, 0.21812299954311, -0.06592544638803,
    0.01081174209837, -0.00077658482522, 0.00001388721735,
]  # fmt: skip
LONGEST_MEASURED_SECONDS = 10.0
MOST_HARMONICS = 1000
LOWEST_HERTZ = 20.0


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class Tone:
    """What a tone measures. Ratios in percent and dB, levels to full scale and in V where known."""

    hertz: float
    level_decibels: float
    level_volts: float | None
    thd_f_percent: float
    thd_r_percent: float
    thd_n_percent: float
    bandwidth_hertz: float
    snr_decibels: float
    snr_a_decibels: float
    second_percent: float
    third_percent: float
    offset_percent: float
    hints: tuple[str, ...]


def tone(
    path: str,
    channel: int = 1,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
) -> Tone:
    """Return level, THD, THD+N and S/N of a tone in a WAV recording.

    path of a WAV file, channel from 1, bandwidth_hertz 100..500,000 Hz, full_scale_volts: the
    r.m.s. volts of a full-scale sine at the terminals. ValueError with a sentence.
    Formula: THD_F = rms of harmonics / fundamental; THD_R by the total; THD+N = residue / total.
    Caution: NOTICE. THD+N holds for its bandwidth; a class D output needs a 20 kHz low-pass ahead.
    Source: IEC 60268-3 and AES17 definitions; closed forms W7.1, W7.2, W7.5.
    """
    recording = read_wav(path)
    return tone_of(recording.channel(channel), recording.rate, bandwidth_hertz, full_scale_volts)


def tone_of(
    samples: Samples,
    rate: int,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
) -> Tone:
    """Return what `tone` does for samples at full scale 1.0; ValueError with a sentence."""
    asked = within("bandwidth_hertz", bandwidth_hertz, 100, 500_000, "Hz")
    band = min(asked, rate / 2)
    _require_usable(samples)
    spectrum = take_apart(middle_of(samples, rate), rate, band)
    first = spectrum.amplitude
    by_f = math.sqrt(sum(h**2 for h in spectrum.harmonics)) / first
    harmonic = [*spectrum.harmonics, 0.0, 0.0]
    volts = None
    if full_scale_volts is not None:
        volts = first * within("full_scale_volts", full_scale_volts, 1e-6, 1e5, "V")
    return Tone(
        spectrum.hertz,
        _decibels(first),
        volts,
        by_f * 100,
        by_f / math.sqrt(1 + by_f**2) * 100,
        spectrum.residue / spectrum.total * 100,
        band,
        _decibels(first / math.sqrt(2) / max(spectrum.noise, 1e-15)),
        _decibels(first / math.sqrt(2) / max(spectrum.weighted_noise, 1e-15)),
        harmonic[0] / first * 100,
        harmonic[1] / first * 100,
        spectrum.offset * 100,
        tuple(_hints(samples, spectrum, asked, rate)),
    )


def _require_usable(samples: Samples) -> None:
    moving = samples - samples.mean()
    peak = float(np.max(np.abs(moving)))
    if peak < SILENT:
        raise ValueError(
            "The recording is silent on this channel: nothing above -100 dB of full scale."
        )
    stuck = np.count_nonzero(np.abs(samples) >= 0.9999)
    if stuck > 0.001 * len(samples) and _runs(np.abs(samples) >= 0.9999) >= 3:
        raise ValueError(
            "The recording itself is clipped: it sits at full scale. Turn the input down and record again."
        )


def _runs(flags: np.ndarray) -> int:
    """Return the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return int(np.max(edges[1::2] - edges[::2])) if len(edges) else 0


def middle_of(samples: Samples, rate: int) -> Samples:
    """Return at most ten seconds from the middle: starts and ends carry switching and fades."""
    most = int(LONGEST_MEASURED_SECONDS * rate)
    start = max(0, (len(samples) - most) // 2)
    kept: Samples = samples[start : start + most]
    return kept


def take_apart(samples: Samples, rate: int, bandwidth: float) -> Spectrum:
    """Return offset, fundamental, harmonics and what is left, up to `bandwidth` in Hz."""
    window = _window(len(samples))
    offset = float(np.sum(samples * window) / np.sum(window))
    moving = samples - offset
    hertz = _sine_fit(moving, rate)
    fundamental, amplitude = _fitted(moving, rate, hertz)
    left = moving - fundamental
    harmonics = _harmonics(moving, rate, hertz, bandwidth)
    residue, noise, weighted = _powers(left, rate, hertz, bandwidth)
    total = math.sqrt(amplitude**2 / 2 + residue**2)
    return Spectrum(offset, hertz, amplitude, harmonics, residue, noise, weighted, total)


def _window(count: int) -> Samples:
    made: Samples = general_cosine(count, [abs(term) for term in _TERMS], sym=False)
    return made


def _sine_fit(moving: Samples, rate: int) -> float:
    """Return the frequency of the strongest tone in Hz (coarse peak, then least squares)."""
    window = _window(len(moving))
    power = np.abs(np.fft.rfft(moving * window))
    lowest = max(1, int(LOWEST_HERTZ * 0.5 * len(moving) / rate))
    peak = lowest + int(np.argmax(power[lowest:]))
    hertz = peak * rate / len(moving)
    for _ in range(12):
        step = _frequency_step(moving, window, rate, hertz)
        hertz += step
        if abs(step) < 1e-12 * hertz:
            break
    if not LOWEST_HERTZ * 0.4 <= hertz < rate / 2:
        raise ValueError("No steady tone was found; record one frequency for a second or more.")
    return hertz


def _frequency_step(moving: Samples, window: Samples, rate: int, hertz: float) -> float:
    """Return one Gauss-Newton step of the sine fit, weighted so that harmonics do not pull at it."""
    place = np.arange(len(moving)) / rate
    cosine, sine = np.cos(2 * math.pi * hertz * place), np.sin(2 * math.pi * hertz * place)
    a, b = _least_squares(np.column_stack([cosine, sine]), moving, window)
    slope = 2 * math.pi * (place - place.mean()) * (-a * sine + b * cosine)
    found = _least_squares(np.column_stack([cosine, sine, slope]), moving, window)
    # Never more than half a bin at once: a far jump would land on another tone.
    most = 0.5 * rate / len(moving)
    return float(np.clip(found[2], -most, most))


def _least_squares(basis: Samples, moving: Samples, window: Samples) -> Samples:
    weighted = basis * window[:, None]
    found = np.linalg.solve(weighted.T @ basis, weighted.T @ moving)
    return np.asarray(found, dtype=np.float64)


def _fitted(moving: Samples, rate: int, hertz: float) -> tuple[Samples, float]:
    """Return the fundamental and its amplitude."""
    angle = 2 * math.pi * hertz * np.arange(len(moving)) / rate
    basis = np.column_stack([np.cos(angle), np.sin(angle)])
    found = _least_squares(basis, moving, _window(len(moving)))
    return basis @ found, math.hypot(*found)


def amplitude_at(moving: Samples, rate: int, hertz: float) -> float:
    """Return the amplitude at one frequency, side lobes of others 180 dB down."""
    window = _window(len(moving))
    turn = np.exp(-2j * math.pi * hertz * np.arange(len(moving)) / rate)
    return float(2 * abs(np.sum(moving * window * turn)) / np.sum(window))


def _harmonics(moving: Samples, rate: int, hertz: float, bandwidth: float) -> tuple[float, ...]:
    most = min(MOST_HARMONICS, int(min(bandwidth * 1.000001, rate / 2 * 0.999) / hertz))
    window = _window(len(moving))
    once = np.exp(-2j * math.pi * hertz * np.arange(len(moving)) / rate)
    # Each harmonic is the one before, turned once more: no exponential per harmonic.
    turned = moving * window * once
    found = []
    for _ in range(2, most + 1):
        turned *= once
        found.append(float(2 * abs(turned.sum()) / window.sum()))
    return tuple(found)


def _powers(left: Samples, rate: int, hertz: float, bandwidth: float) -> tuple[float, float, float]:
    """Return r.m.s. of the residue, of its noise (harmonics taken out), and that noise A-weighted."""
    count = len(left)
    power: Samples = np.abs(np.fft.rfft(left)) ** 2 * 2 / count**2
    places: Samples = np.fft.rfftfreq(count, 1 / rate).astype(np.float64)
    inside = (places >= LOWEST_HERTZ * 0.5) & (places <= bandwidth)
    bin_hertz = rate / count
    nearest = np.abs(places - np.round(places / hertz) * hertz)
    off_harmonic = inside & (nearest > 4 * bin_hertz)
    # What the harmonics' bins would hold of noise is made up from the others.
    scale = inside.sum() / max(off_harmonic.sum(), 1)
    noise = float(power[off_harmonic].sum()) * scale
    weighted = float((power * a_weighting(places) ** 2)[off_harmonic].sum()) * scale
    return math.sqrt(float(power[inside].sum())), math.sqrt(noise), math.sqrt(weighted)


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


def _decibels(ratio: float) -> float:
    return 20 * math.log10(max(ratio, 1e-15))


def _hints(samples: Samples, spectrum: Spectrum, asked: float, rate: int) -> list[str]:
    hints = []
    if asked > rate / 2:
        hints.append(
            f"The rate of {rate:,} Hz ends at {rate // 2:,} Hz: the bandwidth was cut to that."
        )
    if abs(spectrum.offset) > 0.01:
        hints.append(
            f"A direct voltage of {spectrum.offset * 100:.1f} % of full scale is in it; taken off."
        )
    if _flat_tops(samples):
        hints.append(
            "Flat tops: the wave is clipped before the recorder. Lower the level and measure again."
        )
    odd, even = spectrum.harmonics[1:8:2], spectrum.harmonics[0:8:2]
    total = math.sqrt(sum(h**2 for h in spectrum.harmonics)) / spectrum.amplitude
    if total > 0.01 and odd and even and sum(odd) > 5 * sum(even):
        hints.append(
            "Odd harmonics lead: both halves are limited alike, as by clipping or crossover."
        )
    if total > 0.01 and even and sum(even) > 5 * sum(odd):
        hints.append("Even harmonics lead: one half differs, as by a bias or supply of one side.")
    return hints


def _flat_tops(samples: Samples) -> bool:
    """Whether the wave stands still at its peaks for longer than a sine does."""
    peak = float(np.max(np.abs(samples)))
    at_peak = np.abs(samples) > 0.998 * peak
    # A sine spends 4 % of its time there; a wave clipped at 95 % a fifth.
    return bool(np.mean(at_peak) > 0.12)


@dataclass(frozen=True, slots=True)
class Noise:
    """An idle recording: noise and hum."""

    noise_decibels: float
    noise_a_decibels: float
    noise_volts: float | None
    mains_hertz: float
    fundamental_decibels: float
    ripple_decibels: float
    offset_percent: float
    hints: tuple[str, ...]


def noise(
    path: str,
    channel: int = 1,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
    mains_hertz: float = 50.0,
) -> Noise:
    """Return noise and hum of an idle output in a WAV recording, to full scale.

    path of a WAV file without signal, channel from 1, bandwidth 100..500,000 Hz, mains 50 or
    60 Hz. ValueError with a sentence.
    Formula: r.m.s. over the band, unweighted and A-weighted; hum at the mains and at twice it.
    Caution: NOTICE. Inputs shorted or terminated, volume as stated; else it is no figure.
    Source: IEC 60268-3 wideband and weighted noise; IEC 61672-1 for the A curve.
    """
    recording = read_wav(path)
    samples = recording.channel(channel)
    return noise_of(samples, recording.rate, bandwidth_hertz, full_scale_volts, mains_hertz)


def noise_of(
    samples: Samples,
    rate: int,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
    mains_hertz: float = 50.0,
) -> Noise:
    """Return what `noise` does for samples; ValueError with a sentence."""
    band = min(within("bandwidth_hertz", bandwidth_hertz, 100, 500_000, "Hz"), rate / 2)
    mains = within("mains_hertz", mains_hertz, 45, 65, "Hz")
    kept = middle_of(samples, rate)
    offset = float(kept.mean())
    moving = kept - offset
    # To a full-scale sine, as levels are: hence the root of two.
    rms, weighted = (level * math.sqrt(2) for level in _band_levels(moving, rate, band))
    volts = (
        None
        if full_scale_volts is None
        else rms * within("full_scale_volts", full_scale_volts, 1e-6, 1e5, "V")
    )
    hum = [amplitude_at(moving, rate, mains * n) for n in (1, 2, 3, 4, 5, 6)]
    hints = tuple(_hum_hints(hum, rms, mains))
    return Noise(
        _decibels(rms), _decibels(weighted), volts, mains, _decibels(hum[0]), _decibels(hum[1]),
        offset * 100, hints,
    )  # fmt: skip


def _band_levels(moving: Samples, rate: int, bandwidth: float) -> tuple[float, float]:
    power: Samples = np.abs(np.fft.rfft(moving)) ** 2 * 2 / len(moving) ** 2
    places: Samples = np.fft.rfftfreq(len(moving), 1 / rate).astype(np.float64)
    inside = (places >= LOWEST_HERTZ * 0.5) & (places <= bandwidth)
    weighted = (power * a_weighting(places) ** 2)[inside].sum()
    return math.sqrt(float(power[inside].sum())), math.sqrt(float(weighted))


def _hum_hints(hum: list[float], rms: float, mains: float) -> list[str]:
    odd, even = math.hypot(hum[0], hum[2], hum[4]), math.hypot(hum[1], hum[3], hum[5])
    if math.hypot(odd, even) < 0.5 * rms or rms < SILENT:
        return []
    if odd > 2 * even:
        return [
            f"Hum at {mains:g} Hz and its odd multiples leads: a ground loop, a screen without"
            " earth, or a transformer's field."
        ]
    if even > 2 * odd:
        return [f"Hum at {2 * mains:g} Hz leads: rectifier ripple, a reservoir or regulator."]
    return [f"Hum of {mains:g} and {2 * mains:g} Hz alike: look at earths and at the supply."]


def peaks_of(samples: Samples, rate: int, floor_decibels: float = 60.0) -> list[float]:
    """Return the frequencies of all tones within so many dB of the strongest, in Hz."""
    window = _window(len(samples))
    power = np.abs(np.fft.rfft((samples - samples.mean()) * window))
    threshold = power.max() * 10 ** (-floor_decibels / 20)
    places, _ = find_peaks(power, height=threshold, distance=8)
    return [
        float(place) * rate / len(samples) for place in places if place * rate / len(samples) >= 10
    ]
