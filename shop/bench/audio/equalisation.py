"""Equalisation of record and tape playback, and how far a stage is off it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shop.bench.audio.response import response_of
from shop.bench.audio.wav import Recording, read_wav
from shop.bench.inputs import one_of, same_length, series, within

Curve = Literal[
    "riaa", "riaa-iec", "tape-4.76-120", "tape-4.76-70", "tape-9.5", "tape-19-iec", "tape-19-nab",
    "tape-38-iec", "tape-38-nab", "tape-76",
]  # fmt: skip
# Time constants in microseconds. Playback gain rises with the first ones and falls with the others.
# Record: IEC 60098 (RIAA), and its amendment of 1976 with a pole at 7950 us. Tape: IEC 60094-1 by
# speed in cm/s, and NAB. All from memory.
_ZEROS_AND_POLES: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "riaa": ((318.0,), (3180.0, 75.0)),
    "riaa-iec": ((318.0,), (3180.0, 75.0)),
    "tape-4.76-120": ((120.0,), (3180.0,)),
    "tape-4.76-70": ((70.0,), (3180.0,)),
    "tape-9.5": ((90.0,), (3180.0,)),
    "tape-19-iec": ((70.0,), (math.inf,)),
    "tape-19-nab": ((50.0,), (3180.0,)),
    "tape-38-iec": ((35.0,), (math.inf,)),
    "tape-38-nab": ((50.0,), (3180.0,)),
    "tape-76": ((17.5,), (math.inf,)),
}
CURVES = tuple(_ZEROS_AND_POLES)
_IEC_HIGH_PASS_MICROSECONDS = 7950.0
REFERENCE_HERTZ = 1000.0


def playback_decibels(curve: str, hertz: float) -> float:
    """Return the gain of a playback stage at a frequency, in dB to that at 1 kHz."""
    return _gain(curve, hertz) - _gain(curve, REFERENCE_HERTZ)


def _gain(curve: str, hertz: float) -> float:
    turn = 2e-6 * math.pi * hertz
    zeros, poles = _ZEROS_AND_POLES[curve]
    level = sum(_corner(turn * t) for t in zeros) - sum(_fall(turn, t) for t in poles)
    if curve == "riaa-iec":
        level -= _corner(1 / (turn * _IEC_HIGH_PASS_MICROSECONDS))
    return level


def _corner(ratio: float) -> float:
    return 10 * math.log10(1 + ratio**2)


def _fall(turn: float, microseconds: float) -> float:
    """Return the loss of a pole in dB; one at 0 Hz falls with the frequency alone."""
    return 20 * math.log10(turn) if math.isinf(microseconds) else _corner(turn * microseconds)


@dataclass(frozen=True, slots=True)
class Equalisation:
    """What playback must give at a frequency, and what stands on record or tape."""

    playback_decibels: float
    recorded_decibels: float


def equalisation(curve: Curve, hertz: float) -> Equalisation:
    """Return the playback gain that a standard asks for at a frequency, to 1 kHz.

    hertz 1..100,000 Hz. For tape the gain is that of the amplifier behind an ideal head, whose own
    voltage rises with the frequency; `recorded_decibels` is the flux. For records it is the velocity.
    Formula: zeros less poles, each 10 log10(1 + (2 pi f t)^2). RIAA 3180, 318, 75 us; tape 120, 90, 70,
    50, 35 or 17.5 us with 3180 us or without.
    Caution: NOTICE. Records before 1955 and tapes of other lands followed other curves.
    Source: IEC 60098 and IEC 60094-1 time constants, NAB 1965, from memory.
    """
    one_of("curve", curve, CURVES)
    f = within("hertz", hertz, 1, 100_000, "Hz")
    gain = playback_decibels(curve, f)
    if not curve.startswith("tape"):
        return Equalisation(gain, -playback_decibels("riaa", f))
    return Equalisation(gain, -gain - 20 * math.log10(f / REFERENCE_HERTZ))


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """How far a playback stage is off its curve, to the reading nearest 1 kHz."""

    worst_decibels: float
    worst_hertz: float
    spread_decibels: float
    hertz: tuple[float, ...]
    deviation_decibels: tuple[float, ...]
    says: str


def equalisation_deviation(
    curve: Curve, hertz: Sequence[float], decibels: Sequence[float]
) -> Deviation:
    """Return how far readings of a playback stage are off a standard curve.

    hertz 1..100,000 Hz and decibels -200..200 dB, one each, three or more: the output at a constant
    input. From a test record or test tape, or behind an inverse network, the readings are the deviation.
    Formula: reading less curve, less the same at the reading nearest 1 kHz.
    Caution: NOTICE. A cartridge or a head brings its own: hold the stage alone against the curve first.
    Source: IEC 60098, IEC 60094-1, from memory.
    """
    one_of("curve", curve, CURVES)
    places = series("hertz", hertz, low=1, high=100_000, unit="Hz", fewest=3)
    levels = series("decibels", decibels, low=-200, high=200, unit="dB", fewest=3)
    same_length("hertz", places, "decibels", levels)
    return _deviation(curve, places, levels)


def equalisation_response(
    path: str, curve: Curve = "riaa", channel: int = 1, reference_channel: int = 0
) -> Deviation:
    """Return how far a recorded sweep through a playback stage is off a standard curve.

    path of a WAV file; channel from 1; reference_channel: the channel that holds what went in, 0 for
    none. The sweep is fed at a constant level, without an inverse network. ValueError with a sentence.
    Formula: response in third octaves less the curve.
    Caution: NOTICE. A phono stage takes millivolts: attenuate, or its overload is what is measured.
    Source: IEC 60098, IEC 60094-1, from memory; third octaves of IEC 61260-1.
    """
    one_of("curve", curve, CURVES)
    return deviation_of(read_wav(path), curve, channel, reference_channel)


def deviation_of(
    recording: Recording, curve: str, channel: int = 1, reference_channel: int = 0
) -> Deviation:
    """Return what `equalisation_response` does for a recording; ValueError with a sentence."""
    found = response_of(recording, channel, reference_channel)
    return _deviation(curve, found.hertz, found.decibels)


def _deviation(curve: str, places: Sequence[float], levels: Sequence[float]) -> Deviation:
    off = [level - playback_decibels(curve, f) for f, level in zip(places, levels, strict=True)]
    nearest = min(range(len(off)), key=lambda n: abs(math.log(places[n] / REFERENCE_HERTZ)))
    off = [one - off[nearest] for one in off]
    worst = max(range(len(off)), key=lambda n: abs(off[n]))
    says = f"At most {abs(off[worst]):.2f} dB off, at {places[worst]:.0f} Hz."
    return Deviation(
        worst_decibels=off[worst],
        worst_hertz=places[worst],
        spread_decibels=max(off) - min(off),
        hertz=tuple(places),
        deviation_decibels=tuple(off),
        says=says,
    )
