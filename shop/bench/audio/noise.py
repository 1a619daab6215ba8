"""An idle recording: noise and hum, and what they hint at."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shop.bench.audio.quasi_peak import quasi_peak, weighted_468
from shop.bench.audio.spectrum import (
    LOWEST_HERTZ,
    a_weighting,
    amplitude_at,
    decibels_of,
    frequency_step,
    middle_of,
    power_of,
    window_of,
)
from shop.bench.audio.wav import SILENT, Samples, read_wav
from shop.bench.inputs import within

MOST_OFF = 1.0  # Hz that the mains may be off its nominal frequency


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """An idle recording: noise and hum. `noise_468_decibels`: quasi-peak by ITU-R BS.468."""

    noise_decibels: float
    noise_a_decibels: float
    noise_468_decibels: float
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
    Formula: r.m.s. over the band, unweighted and A-weighted; quasi-peak behind the network of BS.468; hum at the mains, followed where it is, and at twice it.
    Caution: NOTICE. Inputs shorted or terminated, volume as stated; else it is no figure.
    Source: IEC 60268-3 wideband and weighted noise; IEC 61672-1 for the A curve;
    ITU-R BS.468-4, table read second-hand, ballistics from memory.
    """
    recording = read_wav(path)
    return noise_of(
        recording.channel(channel),
        recording.rate,
        bandwidth_hertz=bandwidth_hertz,
        full_scale_volts=full_scale_volts,
        mains_hertz=mains_hertz,
    )


def noise_of(
    samples: Samples,
    rate: int,
    *,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
    mains_hertz: float = 50.0,
) -> Noise:
    """Return what `noise` does for samples; ValueError with a sentence."""
    band = min(within("bandwidth_hertz", bandwidth_hertz, 100, 500_000, "Hz"), rate / 2)
    mains = within("mains_hertz", mains_hertz, 45, 65, "Hz")
    middle = middle_of(samples, rate)
    offset = float(middle.mean())
    moving = middle - offset
    # To a full-scale sine, as levels are: hence the root of two.
    rms, weighted = (level * math.sqrt(2) for level in _band_levels(moving, rate, band))
    volts = None
    if full_scale_volts is not None:
        volts = rms * within("full_scale_volts", full_scale_volts, 1e-6, 1e5, "V")
    nominal, mains = mains, mains_of(moving, rate, mains)
    hum = [amplitude_at(moving, rate, mains * n) for n in (1, 2, 3, 4, 5, 6)]
    return Noise(
        noise_decibels=decibels_of(rms),
        noise_a_decibels=decibels_of(weighted),
        noise_468_decibels=decibels_of(quasi_peak(weighted_468(moving, rate), rate)),
        noise_volts=volts,
        mains_hertz=mains,
        fundamental_decibels=decibels_of(hum[0]),
        ripple_decibels=decibels_of(hum[1]),
        offset_percent=offset * 100,
        hints=(*_elsewhere(nominal, mains), *_hum_hints(hum, rms, round(mains))),
    )


def mains_of(moving: Samples, rate: int, nominal: float) -> float:
    """Return the frequency of the mains that is heard, near 50 or 60 Hz; the nominal one for none.

    The grid drifts by some tenths of a hertz and two devices disagree by parts in a million; a
    line that is looked for beside its place reads low.
    """
    power, places = power_of(moving, rate)
    found = [(nominal, *_heard(power, places, nominal))]
    found += [(other, *_heard(power, places, other)) for other in (50.0, 60.0)]
    # Another grid than was said must be far louder: three times in amplitude.
    grid, line, _ = max(found, key=lambda one: one[2] * (10 if one[0] == nominal else 1))
    if not line:
        return nominal
    return _refined(moving, rate, line) / round(line / grid)


def _heard(power: Samples, places: Samples, grid: float) -> tuple[float, float]:
    """Return the strongest line near the first six multiples of a grid in Hz, and its power, or 0, 0."""
    best = (0.0, 0.0)
    for multiple in range(1, 7):
        off = np.abs(places - grid * multiple)
        near, about = off <= MOST_OFF * multiple, off <= 8 * multiple
        if not near.any():
            continue
        peak = int(np.flatnonzero(near)[np.argmax(power[near])])
        if power[peak] > 30 * np.median(power[about]) and power[peak] > best[1]:
            best = (float(places[peak]), float(power[peak]))
    return best


def _refined(moving: Samples, rate: int, hertz: float) -> float:
    window = window_of(len(moving))
    for _ in range(6):
        hertz += frequency_step(moving, window, rate, hertz)
    return hertz


def _elsewhere(nominal: float, mains: float) -> list[str]:
    if abs(mains - nominal) < 3:
        return []
    return [f"The hum is of {mains:.1f} Hz mains, not of {nominal:g} Hz; measured there."]


def _band_levels(moving: Samples, rate: int, bandwidth: float) -> tuple[float, float]:
    power, places = power_of(moving, rate)
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
