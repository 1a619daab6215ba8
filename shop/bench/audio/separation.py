"""Separation between channels: how much of a driven one reaches the other, and down to where it can be told."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shop.bench.audio.spectrum import amplitude_at, decibels_of, middle_of, power_of, take_apart
from shop.bench.audio.wav import SILENT, Recording, Samples, read_wav

LOWEST_FLOOR = 10 ** (-130 / 20)  # nothing recorded is quieter: common practice
_TOP_OF_LOBE = 0.38  # of a tone's mean square, the top place under the window


@dataclass(frozen=True, slots=True)
class Separation:
    """How much of a driven channel reaches the other.

    `floor_decibels`: the noise at the tone's place, below the driven tone: no separation better
    than that can be told. `other_decibels`: all that the idle channel holds besides, below it too.
    """

    driven_channel: int
    hertz: float
    separation_decibels: float
    floor_decibels: float
    other_decibels: float
    hints: tuple[str, ...]


def separation(path: str) -> Separation:
    """Return the separation of a two-channel recording in which one channel is driven by a tone.

    path of a WAV file with two channels. ValueError with a sentence.
    Formula: 20 log10(driven / other), both at the tone's frequency.
    Caution: NOTICE. Terminate the idle input; an open one picks up what it likes.
    Source: IEC 60268-3 definition; W7.10.
    """
    return separation_of(read_wav(path))


def separation_of(recording: Recording) -> Separation:
    """Return what `separation` does for a recording; ValueError with a sentence."""
    if recording.channels != 2:
        raise ValueError(f"The recording has {recording.channels} channel(s); separation needs 2.")
    pair = [middle_of(recording.channel(n), recording.rate) for n in (1, 2)]
    levels = [float(np.std(samples)) for samples in pair]
    driven = int(np.argmax(levels))
    if levels[driven] < SILENT:
        raise ValueError("The recording is silent on both channels.")
    hertz = take_apart(pair[driven], recording.rate, recording.rate / 2).hertz
    idle = pair[1 - driven] - pair[1 - driven].mean()
    if not idle.any():
        raise ValueError("The other channel holds nothing at all: it was not recorded.")
    strong = amplitude_at(pair[driven] - pair[driven].mean(), recording.rate, hertz)
    weak, floor = amplitude_at(idle, recording.rate, hertz), _floor(idle, recording.rate, hertz)
    other = math.sqrt(max(2 * float(np.mean(idle**2)) - weak**2, LOWEST_FLOOR**2))
    return Separation(
        driven_channel=driven + 1,
        hertz=hertz,
        separation_decibels=decibels_of(strong / max(weak, floor)),
        floor_decibels=decibels_of(strong / floor),
        other_decibels=decibels_of(strong / other),
        hints=tuple(_hints(weak, floor, other)),
    )


def _floor(idle: Samples, rate: int, hertz: float) -> float:
    """Return the amplitude that noise alone shows at the tone's place, at full scale 1.0."""
    power, places = power_of(idle, rate)
    step = rate / len(idle)
    off = np.abs(places - hertz)
    beside = (off > 9 * step) & (off < 60 * step)
    # Of noise, the median of a place is 0.69 of its mean; a place of a tone holds 0.37 of it.
    mean = float(np.median(power[beside])) / math.log(2) if beside.any() else 0.0
    return max(math.sqrt(2 * mean / _TOP_OF_LOBE), LOWEST_FLOOR)


def _hints(weak: float, floor: float, other: float) -> list[str]:
    hints = []
    if weak <= 2 * floor:
        hints.append(
            "Nothing of the tone stands out of the noise of the other channel: it is at least that."
        )
    if other > 10 * max(weak, floor):
        hints.append(
            "The other channel holds far more of something else: noise, hum, or a tone of its own."
        )
    return hints
