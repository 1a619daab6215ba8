"""Wow, flutter and speed from a recorded test tone.

The tone is turned down to 0 Hz; the pace of its phase is the speed. The weighting is that of
AES6-2008 and IEC 60386, applied to the spectrum of the deviation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from checklists.engine.figures import grouped
from shop.bench.audio.spectrum import NO_TONE, window_of
from shop.bench.audio.wav import SILENT, Samples, read_wav
from shop.bench.inputs import within

# AES6-2008 and IEC 60386, table of the weighting: Hz, dB. Read second-hand.
WEIGHTING = (
    (0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0),
    (1.0, -4.2), (1.6, -1.8), (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1), (20.0, -5.9),
    (40.0, -10.4), (63.0, -14.2), (100.0, -17.3), (200.0, -23.0),
)  # fmt: skip
FASTEST_HERTZ = 200.0  # the standards look no further
_BAND_HERTZ = 900.0  # to each side of the tone: flat to 540 Hz, a tenth of 3,150 Hz and its swings
_RATE = 2000.0  # of the deviation, per second
_ENDS_SECONDS = 0.5  # at each end, where the filters ring
SHORTEST_SECONDS, ENOUGH_SECONDS = 3.0, 10.0
_LOOK_SECONDS, _SILENCE = 0.02, 0.1  # silence before and after the tone: 20 dB below it
LIVELIEST = 0.35  # a tone keeps its level; noise in so wide a band changes it by half of itself
# What comes once so often, in Hz: arithmetic.
_CAUSES = (
    (100 / 180, "a turn of a record at 33 1/3: centre hole, warp, platter bearing"),
    (45 / 60, "a turn of a record at 45: centre hole, warp, platter bearing"),
    (78.26 / 60, "a turn of a record at 78: centre hole, warp, platter bearing"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Flutter:
    """Wow, flutter and speed of a test tone.

    `weighted_flutter_percent`: 2 sigma, which 95 of 100 moments do not pass, to each side, as a weighted
    peak meter reads it; `rate_hertz`: how often the strongest swing comes, `rate_percent` its peak.
    """

    hertz: float
    speed_error_percent: float
    weighted_flutter_percent: float
    weighted_rms_percent: float
    unweighted_flutter_percent: float
    wow_rms_percent: float
    flutter_rms_percent: float
    rate_hertz: float
    rate_percent: float
    measured_seconds: float
    hints: tuple[str, ...]


def flutter(path: str, channel: int = 1, test_hertz: float = 3150.0) -> Flutter:
    """Return wow, flutter and speed error of a recorded test tone.

    path of a WAV file, 3 s or more of one tone from tape or record; channel from 1; test_hertz
    500..12,000 Hz that the test tape or record holds (3,150 by IEC 60386, 3,000 on older ones).
    ValueError with a sentence.
    Formula: deviation = d(phase)/dt / mean - 1; 2 sigma of it after the weighting curve; wow up to
    6 Hz and flutter from there to 200 Hz as r.m.s., unweighted.
    Caution: NOTICE. Measure playback of a test tape; a tone recorded and played on one deck counts its wow twice or not at all.
    Source: AES6-2008 weighting and 2 sigma, read second-hand; IEC 60386 3,150 Hz, from memory.
    """
    recording = read_wav(path)
    return flutter_of(recording.channel(channel), recording.rate, test_hertz=test_hertz)


def flutter_of(samples: Samples, rate: int, *, test_hertz: float = 3150.0) -> Flutter:
    """Return what `flutter` does for samples; ValueError with a sentence."""
    wanted = within("test_hertz", test_hertz, 500, 12_000, "Hz")
    samples = _sounding(samples, rate)
    _require_length(len(samples) / rate)
    hertz, deviation = _deviation(samples, rate)
    inner = slice(int(_ENDS_SECONDS * _RATE), -int(_ENDS_SECONDS * _RATE))
    lines = np.fft.rfft(deviation)
    places: Samples = np.fft.rfftfreq(len(deviation), 1 / _RATE).astype(np.float64)
    plain, weighted, wow, fast = (
        100 * np.fft.irfft(lines * gain, len(deviation))[inner]
        for gain in (
            _between(places, 0, FASTEST_HERTZ), weighting(places),
            _between(places, 0, 6), _between(places, 0, FASTEST_HERTZ) - _between(places, 0, 6),
        )
    )  # fmt: skip
    swings, swing = _strongest(plain)
    return Flutter(
        hertz=hertz,
        speed_error_percent=round(100 * (hertz / wanted - 1), 4),
        weighted_flutter_percent=_two_sigma(weighted),
        weighted_rms_percent=float(np.std(weighted)),
        unweighted_flutter_percent=_two_sigma(plain),
        wow_rms_percent=float(np.std(wow)),
        flutter_rms_percent=float(np.std(fast)),
        rate_hertz=swings,
        rate_percent=swing,
        measured_seconds=len(plain) / _RATE,
        hints=tuple(_hints(hertz, wanted, swings, swing, len(plain) / _RATE)),
    )


def weighting(hertz: Samples) -> Samples:
    """Return the weighting of speed deviations as a gain, 1.0 at 4 Hz, 0 at 0 Hz."""
    steps, levels = (np.array(column) for column in zip(*WEIGHTING, strict=True))
    known = np.log(steps)
    asked = np.log(np.maximum(hertz, 1e-6))
    level = scipy.interpolate.PchipInterpolator(known, levels)(np.clip(asked, known[0], known[-1]))
    # Beyond the table it goes on as it ends: 18 dB an octave down, 6 dB an octave up.
    level -= 18 * np.maximum(0, known[0] - asked) / math.log(2)
    level -= 6 * np.maximum(0, asked - known[-1]) / math.log(2)
    gain: Samples = np.where(hertz > 0, 10 ** (level / 20), 0.0)
    return gain


def _sounding(samples: Samples, rate: int) -> Samples:
    """Return samples without the silence before and after the tone; all of what is silent."""
    look = max(1, int(_LOOK_SECONDS * rate))
    count = len(samples) // look
    if not count:
        return samples
    levels = np.std(samples[: count * look].reshape(count, look), axis=1)
    heard = np.flatnonzero(levels > _SILENCE * float(np.quantile(levels, 0.9)))
    if len(heard) == 0 or (heard[0] == 0 and heard[-1] == count - 1):
        return samples
    # The first and the last look that sound may be filled in part.
    first = heard[0] + 1 if heard[0] else 0
    last = heard[-1] if heard[-1] < count - 1 else count
    part: Samples = samples[first * look : last * look]
    return part


def _require_length(seconds: float) -> None:
    if seconds < SHORTEST_SECONDS:
        raise ValueError(
            f"The recording is {seconds:.1f} s; wow needs {SHORTEST_SECONDS:g} s, better"
            f" {ENOUGH_SECONDS:g} s or more."
        )


def _deviation(samples: Samples, rate: int) -> tuple[float, Samples]:
    """Return the mean frequency in Hz and the deviation from it, 2,000 a second."""
    moving = samples - samples.mean()
    if float(np.abs(moving).max()) < SILENT:
        raise ValueError("The recording is silent on this channel.")
    turning, onward, about = turned_down(moving, rate, _tone_of(moving, rate))
    ends = int(_ENDS_SECONDS * _RATE / 4)
    inner = slice(ends, -ends)
    size = np.abs(turning[inner])
    if float(np.std(size)) > LIVELIEST * float(size.mean()):
        raise ValueError(NO_TONE)
    phase = np.unwrap(np.angle(turning[inner]))
    hertz = about + float(np.polyfit(np.arange(len(phase)), phase, 1)[0]) * _RATE / (2 * math.pi)
    # The pace of the phase, without a difference that would take the fastest swings away.
    pace = np.imag(onward * np.conj(turning))[inner] / (2 * math.pi * size**2)
    return hertz, np.pad((pace + about) / hertz - 1, ends, mode="edge")


def _tone_of(moving: Samples, rate: int) -> float:
    """Return the frequency of the strongest tone from 400 Hz up, which wow has smeared."""
    lines = np.abs(np.fft.rfft(moving * window_of(len(moving)))) ** 2
    step = rate / len(moving)
    lowest = int(400 / step)
    wide = max(1, int(20 / step))
    smeared = np.convolve(lines[lowest:], np.ones(wide), mode="same")
    return (lowest + int(np.argmax(smeared))) * step


def turned_down(
    moving: Samples, rate: int, hertz: float
) -> tuple[NDArray[np.complex128], NDArray[np.complex128], float]:
    """Return what lies about a tone as turning numbers, their slope, and the frequency that stands still.

    Both 2,000 a second. Only the places of the spectrum about the tone are used.
    """
    fade = scipy.signal.windows.tukey(
        len(moving), min(1.0, 0.4 * _ENDS_SECONDS * rate / len(moving))
    )
    lines = np.fft.rfft(moving * fade, scipy.fft.next_fast_len(len(moving), real=True))
    seconds = 2 * (len(lines) - 1) / rate
    middle, reach = round(hertz * seconds), int(min(_BAND_HERTZ, 0.45 * hertz) * seconds)
    taken = np.arange(-reach, reach + 1)
    taken = taken[(middle + taken > 0) & (middle + taken < len(lines))]
    band = np.cos(0.5 * math.pi * np.clip(np.abs(taken) / reach - 0.6, 0, 0.4) / 0.4) ** 2
    low = np.zeros(round(_RATE * seconds), dtype=complex)
    low[taken] = lines[middle + taken] * band
    slope = np.zeros_like(low)
    slope[taken] = low[taken] * 2j * math.pi * taken / seconds
    count = int(_RATE * len(moving) / rate)
    return np.fft.ifft(low)[:count], np.fft.ifft(slope)[:count], middle / seconds


def _between(places: Samples, low: float, high: float) -> Samples:
    """Return what lets through from one frequency to another, falling off over a tenth of the latter."""
    gain: Samples = np.clip((1.1 * high - places) / (0.1 * high), 0, 1) * (places > low)
    return gain


def _two_sigma(deviation: Samples) -> float:
    """Return what 95 of 100 moments do not pass: 0.997 of the peak of a sine."""
    return float(np.quantile(np.abs(deviation), 0.95))


def _strongest(plain: Samples) -> tuple[float, float]:
    """Return how often the strongest swing comes, in Hz, and its peak in percent."""
    window = scipy.signal.windows.hann(len(plain), sym=False)
    sizes = np.abs(np.fft.rfft((plain - plain.mean()) * window, 4 * len(plain))) * 2 / window.sum()
    place = int(np.argmax(sizes))
    return place * _RATE / (4 * len(plain)), float(sizes[place])


def _hints(hertz: float, wanted: float, swings: float, swing: float, seconds: float) -> list[str]:
    hints = []
    if seconds < ENOUGH_SECONDS - 2 * _ENDS_SECONDS:
        hints.append(f"Only {seconds:.1f} s were measured: slow wow needs ten seconds or more.")
    other = {3150.0: 3000.0, 3000.0: 3150.0}.get(wanted)
    if other and abs(hertz - other) < abs(hertz - wanted):
        hints.append(f"It is nearer to {grouped(round(other))} Hz: which tone does the tape hold?")
    cause = next((what for rate, what in _CAUSES if abs(swings / rate - 1) < 0.04), None)
    if cause and swing > 0.01:
        hints.append(f"The strongest swing comes at {swings:.2f} Hz: once {cause}.")
    return hints


@dataclass(frozen=True, slots=True)
class SpeedError:
    """How far a speed is off, also as the pitch that one hears."""

    speed_error_percent: float
    cents: float
    says: str


def speed_error(measured: float, wanted: float) -> SpeedError:
    """Return how far a speed is off, from two readings in the same unit: Hz, turns, cm/s, or metres in a time.

    Both 0.001..1e6, within a factor of two.
    Formula: 100 (measured / wanted - 1); cents = 1200 log2(measured / wanted).
    Caution: NOTICE. A strobe lamp on the mains is as true as the mains; a test tape stretches with age.
    Source: arithmetic; 100 cents to the semitone, ISO 16 and common practice.
    """
    ratio = within("measured", measured, 1e-3, 1e6, "") / within("wanted", wanted, 1e-3, 1e6, "")
    if not 0.5 <= ratio <= 2:
        raise ValueError(
            f"measured is {measured:g} and wanted is {wanted:g}; they must be within a factor of two:"
            " the same unit, the same speed."
        )
    percent, cents = 100 * (ratio - 1), 1200 * math.log2(ratio)
    way = "fast" if cents > 0 else "slow"
    heard = f"{abs(percent):.2f} % too {way}" if abs(percent) >= 0.005 else "right"
    return SpeedError(percent, cents, f"It runs {heard}, {abs(cents):.0f} cents off pitch.")
