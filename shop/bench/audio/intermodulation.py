"""Two tones at once: what they make of each other."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shop.bench.audio.spectrum import (
    amplitude_at,
    decibels_of,
    frequency_step,
    middle_of,
    power_of,
    tones_of,
    window_of,
)
from shop.bench.audio.tone import require_usable
from shop.bench.audio.wav import Samples, read_wav
from shop.bench.inputs import within

FAR_APART = 7.0  # from this ratio of the tones on the slow one modulates the fast one
NEAR = 2.0  # below this one they beat with each other
MOST_UNEVEN = 2.0  # beating tones are of one level, within 6 dB
_WIDE = 0.3  # of the lower tone: a product that close to a tone is not told apart from it
ORDERS = (1, 2, 3, 4, 5)
TWO_TONES = (
    "Two steady tones are needed: 60 Hz or 250 Hz with 7 or 8 kHz at 4:1, or two of one level such"
    " as 18 and 20 kHz, or 19 and 20 kHz."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Intermodulation:
    """What two tones make of each other, in percent.

    `method`: "modulation", a slow tone on a fast one, or "difference", two of one level.
    `order_2_percent`, `order_3_percent`: IEC 60268-3, of the fast tone, or of the sum of both.
    `intermodulation_percent`: all orders together, by SMPTE RP 120 of the fast tone, by AES17 of both.
    `floor_percent`: what noise alone shows of the total.
    """

    method: str
    low_hertz: float
    high_hertz: float
    level_ratio: float
    order_2_percent: float
    order_3_percent: float
    intermodulation_percent: float
    intermodulation_decibels: float
    floor_percent: float
    bandwidth_hertz: float
    hints: tuple[str, ...]


def intermodulation(
    path: str, channel: int = 1, bandwidth_hertz: float = 20_000.0
) -> Intermodulation:
    """Return the intermodulation of two tones in a recording.

    path of a WAV file with two steady tones, channel from 1, bandwidth_hertz 1000..500,000 Hz:
    products above it do not count. ValueError with a sentence.
    Formula: modulation: d2 = (U(f2-f1) + U(f2+f1)) / U(f2), d3 the same with 2 f1; total: root of the
    squares of these sums to the fifth order. Difference: d2 = U(f2-f1) / (U(f1) + U(f2)),
    d3 = (U(2f1-f2) + U(2f2-f1)) / (U(f1) + U(f2)); total: r.m.s. of these products over that of the tones.
    Caution: NOTICE. The mixer of the generator must be cleaner than what is measured: record it alone first.
    Source: IEC 60268-3 modulation and difference-frequency distortion, SMPTE RP 120, AES17, from memory.
    """
    recording = read_wav(path)
    samples = recording.channel(channel)
    return intermodulation_of(samples, recording.rate, bandwidth_hertz=bandwidth_hertz)


def intermodulation_of(
    samples: Samples, rate: int, *, bandwidth_hertz: float = 20_000.0
) -> Intermodulation:
    """Return what `intermodulation` does for samples; ValueError with a sentence."""
    band = min(within("bandwidth_hertz", bandwidth_hertz, 1000, 500_000, "Hz"), rate / 2)
    require_usable(samples)
    middle = middle_of(samples, rate)
    moving = middle - middle.mean()
    low, high = _two_tones(moving, rate)
    pair = (amplitude_at(moving, rate, low), amplitude_at(moving, rate, high))
    shares = _modulation if high >= FAR_APART * low else _difference
    method, second, third, total = shares(moving, rate, (low, high), pair, band)
    # Noise adds to each product: ten in sums of two, or three.
    added = (
        2 * math.sqrt(5) / pair[1] if method == "modulation" else math.sqrt(3) / math.hypot(*pair)
    )
    floor = 100 * added * _floor(moving, rate, (low, high), band)
    return Intermodulation(
        method=method,
        low_hertz=low,
        high_hertz=high,
        level_ratio=pair[0] / pair[1],
        order_2_percent=100 * second,
        order_3_percent=100 * third,
        intermodulation_percent=100 * total,
        intermodulation_decibels=decibels_of(total),
        floor_percent=floor,
        bandwidth_hertz=band,
        hints=tuple(_hints(method, pair, 100 * total, floor)),
    )


def _two_tones(moving: Samples, rate: int) -> tuple[float, float]:
    """Return the frequencies of the two strongest tones, the lower first."""
    hertz, levels = tones_of(moving, rate, 40.0)
    if len(hertz) < 2:
        raise ValueError(TWO_TONES)
    low, high = sorted(float(hertz[n]) for n in np.argsort(levels)[-2:])
    if high < FAR_APART * low:
        even = sorted(float(levels[n]) for n in np.argsort(levels)[-2:])
        if high > NEAR * low or even[1] > MOST_UNEVEN * even[0]:
            raise ValueError(f"{TWO_TONES} Found were {low:.0f} and {high:.0f} Hz.")
    window = window_of(len(moving))
    return (
        low + frequency_step(moving, window, rate, low),
        high + frequency_step(moving, window, rate, high),
    )


Shares = tuple[str, float, float, float]
Two = tuple[float, float]


def _modulation(moving: Samples, rate: int, tones: Two, pair: Two, band: float) -> Shares:
    low, high = tones
    sums = [
        sum(
            amplitude_at(moving, rate, place)
            for place in (high - n * low, high + n * low)
            if low * (1 + _WIDE) < place <= band
        )
        / pair[1]
        for n in ORDERS
    ]
    return "modulation", sums[0], sums[1], math.sqrt(sum(one**2 for one in sums))


def _difference(moving: Samples, rate: int, tones: Two, pair: Two, band: float) -> Shares:
    low, high = tones
    second = amplitude_at(moving, rate, high - low)
    third = [
        amplitude_at(moving, rate, place) if 0 < place <= band else 0.0
        for place in (2 * low - high, 2 * high - low)
    ]
    whole = sum(pair)
    total = math.sqrt(second**2 + third[0] ** 2 + third[1] ** 2) / math.hypot(*pair)
    return "difference", second / whole, sum(third) / whole, total


def _floor(moving: Samples, rate: int, tones: Two, band: float) -> float:
    """Return the amplitude that noise alone shows at one place, at full scale 1.0."""
    power, places = power_of(moving, rate)
    beside = (places > tones[0] / 2) & (places <= band)
    # Of noise, the median of a place is 0.69 of its mean; the top of a tone holds 0.38 of its own.
    mean = float(np.median(power[beside])) / math.log(2) if beside.any() else 0.0
    return math.sqrt(2 * mean / 0.38)


def _hints(method: str, pair: Two, total: float, floor: float) -> list[str]:
    hints = []
    if total < 2 * floor:
        hints.append("The products hardly stand out of the noise: it is at most that.")
    if method == "modulation" and not 3.5 <= pair[0] / pair[1] <= 4.5:
        hints.append(
            f"The slow tone is {pair[0] / pair[1]:.2g} times the fast one; SMPTE RP 120 and IEC 60268-3"
            " have 4. Compare with no figure at 4:1."
        )
    if method == "difference" and not 0.9 <= pair[0] / pair[1] <= 1.1:
        hints.append("The two tones are not of one level; the figure holds for these two alone.")
    return hints
