"""A tone in rising steps: distortion at each level, and where a unit clips."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shop.bench.audio.signals import STEP_SECONDS
from shop.bench.audio.spectrum import Spectrum, decibels_of, take_apart
from shop.bench.audio.tone import require_usable
from shop.bench.audio.wav import SILENT, Samples, read_wav
from shop.bench.inputs import within

NO_STEPS = (
    "No steps of a tone were found; record the test signal of that name from its start to its end."
)
_LOOK_SECONDS = 0.005
_EDGE = 0.15  # of a step, at each end: there a stage still settles
_DEEPEST = 60.0  # dB below the loudest: what moves there is noise
_MOST_EDGE = 4.0  # dB: the edge to silence counts no more than two wide steps
_FEWEST = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepped:
    """What a tone in rising steps measures, the softest step first.

    `clipping_decibels` to full scale, `clipping_volts` r.m.s., `clipping_watts`: the level at which
    THD+N passes the limit, between two steps; None where it is not reached, or not known.
    """

    hertz: float
    steps: int
    limit_percent: float
    clipping_decibels: float | None
    clipping_volts: float | None
    clipping_watts: float | None
    lowest_thd_n_percent: float
    level_decibels: tuple[float, ...]
    thd_n_percent: tuple[float, ...]
    hints: tuple[str, ...]


def stepped(
    path: str,
    channel: int = 1,
    limit_percent: float = 1.0,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
    load_ohms: float | None = None,
) -> Stepped:
    """Return the distortion at each level of a stepped tone in a WAV recording, and where it clips.

    path of a WAV file with the test signal "steps": a quarter of a second each. channel from 1;
    limit_percent 0.01..20 % of THD+N; bandwidth_hertz 100..500,000 Hz; full_scale_volts: the
    r.m.s. volts of a full-scale sine at the terminals; load_ohms 0.1..10,000 ohm gives the power.
    ValueError with a sentence.
    Formula: THD+N = residue / total for each step; the level at the limit on a line through log THD+N over dB; P = V^2 / R.
    Caution: WARNING. Clipping is full power and more: a dummy load, no loudspeaker, short and watched.
    Source: IEC 60268-3, distortion-limited output at a stated THD, from memory; AES17 for THD+N.
    """
    recording = read_wav(path)
    return stepped_of(
        recording.channel(channel),
        recording.rate,
        limit_percent=limit_percent,
        bandwidth_hertz=bandwidth_hertz,
        full_scale_volts=full_scale_volts,
        load_ohms=load_ohms,
    )


def stepped_of(
    samples: Samples,
    rate: int,
    *,
    limit_percent: float = 1.0,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
    load_ohms: float | None = None,
) -> Stepped:
    """Return what `stepped` does for samples at full scale 1.0; ValueError with a sentence."""
    limit = within("limit_percent", limit_percent, 0.01, 20, "%")
    band = min(within("bandwidth_hertz", bandwidth_hertz, 100, 500_000, "Hz"), rate / 2)
    require_usable(samples)
    found = [take_apart(part, rate, band) for part in _parts(samples, rate)]
    steps = sorted(_of_one_tone(found), key=lambda one: one.total)
    if len(steps) < _FEWEST:
        raise ValueError(NO_STEPS)
    levels = [decibels_of(one.total * math.sqrt(2)) for one in steps]
    distortion = [100 * one.residue / one.total for one in steps]
    clipping = _clipping(levels, distortion, limit)
    volts = _volts(clipping, full_scale_volts)
    return Stepped(
        hertz=float(np.median([one.hertz for one in steps])),
        steps=len(steps),
        limit_percent=limit,
        clipping_decibels=clipping,
        clipping_volts=volts,
        clipping_watts=_watts(volts, load_ohms),
        lowest_thd_n_percent=min(distortion),
        level_decibels=tuple(levels),
        thd_n_percent=tuple(distortion),
        hints=tuple(_hints(distortion, limit, clipping)),
    )


def _parts(samples: Samples, rate: int) -> list[Samples]:
    """Return the inner part of each step that sounds; they change on a grid of STEP_SECONDS."""
    look, step = round(_LOOK_SECONDS * rate), round(STEP_SECONDS * rate)
    levels = _levels(samples, look)
    if len(levels) * look < _FEWEST * step:
        raise ValueError(NO_STEPS)
    begin = _grid(levels, round(STEP_SECONDS / _LOOK_SECONDS)) * look
    inner = slice(round(_EDGE * step), round((1 - _EDGE) * step))
    parts = [samples[start : start + step] for start in range(begin, len(samples) - step + 1, step)]
    least = max(SILENT, float(np.abs(samples).max()) * 10 ** (-_DEEPEST / 20))
    return [part[inner] for part in parts if float(np.std(part[inner])) > least]


def _levels(samples: Samples, look: int) -> Samples:
    """Return the level of each short look in dB below the loudest, no deeper than is followed."""
    count = len(samples) // look
    power = np.mean(samples[: count * look].reshape(count, look) ** 2, axis=1)
    levels: Samples = 10 * np.log10(np.maximum(power / power.max(), 10 ** (-_DEEPEST / 10)))
    return levels


def _grid(levels: Samples, each: int) -> int:
    """Return the place below `each` on whose grid the level changes most."""
    # Over two looks: an edge falls within one.
    change = np.minimum(np.abs(levels[2:] - levels[:-2]), _MOST_EDGE)
    sums = [float(change[place::each].sum()) for place in range(each)]
    return (int(np.argmax(sums)) + 1) % each


def _of_one_tone(found: list[Spectrum]) -> list[Spectrum]:
    """Return the parts that hold the tone that most hold; hum between them is another one."""
    hertz = float(np.median([one.hertz for one in found])) if found else 0.0
    return [
        one
        for one in found
        if abs(one.hertz - hertz) < 0.02 * hertz and one.amplitude / math.sqrt(2) > one.residue
    ]


def _clipping(levels: list[float], distortion: list[float], limit: float) -> float | None:
    """Return the level at which distortion passes the limit for good; None: it does not.

    Noise is what softer steps than the cleanest one measure.
    """
    cleanest = distortion.index(min(distortion))
    rising = zip(levels[cleanest:], distortion[cleanest:], strict=True)
    before = None
    for level, percent in rising:
        if percent > limit:
            return level if before is None else _between(before, (level, percent), limit)
        before = (level, percent)
    return None


def _between(below: tuple[float, float], above: tuple[float, float], limit: float) -> float:
    low, high = math.log(max(below[1], 1e-9)), math.log(above[1])
    share = (math.log(limit) - low) / (high - low)
    return below[0] + share * (above[0] - below[0])


def _volts(clipping: float | None, full_scale_volts: float | None) -> float | None:
    if full_scale_volts is None or clipping is None:
        return None
    scale = within("full_scale_volts", full_scale_volts, 1e-6, 1e5, "V")
    return float(scale * 10 ** (clipping / 20))


def _watts(volts: float | None, load_ohms: float | None) -> float | None:
    if load_ohms is None or volts is None:
        return None
    return volts**2 / within("load_ohms", load_ohms, 0.1, 10_000, "ohm")


def _hints(distortion: list[float], limit: float, clipping: float | None) -> list[str]:
    if clipping is None:
        return [
            f"{limit:g} % was not reached: the loudest step has {distortion[-1]:.2g} %. It may clip"
            " above that."
        ]
    if min(distortion) > limit:
        return [
            f"No step is below {limit:g} %: noise, hum, or distortion at every level. This is no"
            " clipping level."
        ]
    return []
