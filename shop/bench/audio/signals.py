"""Test signals: one code makes what a page plays, what is burned or copied, and what the shell plays.

The peaks of a signal reach the level that was asked for and never pass it; 0 dB is full scale.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import soundfile

from shop.bench.audio.response import CENTRES
from shop.bench.audio.wav import Samples
from shop.bench.inputs import one_of, whole, within

Side = Literal["both", "left", "right"]
SIDES = ("both", "left", "right")
TONE_HERTZ = 1000.0
# IEC 60386; older test tapes and records hold 3,000 Hz.
WOW_HERTZ = 3150.0
# SMPTE RP 120: a slow tone and a fast one, four to one.
TWO_TONES = ((60.0, 0.8), (7000.0, 0.2))
SWEEP_HERTZ = (20.0, 20_000.0)
STEP_SECONDS = 0.25
# Wide steps where noise fades out, narrow ones where a unit may clip: dB below the level.
STEP_DECIBELS = (*range(-38, -19, 2), *(n / 2 for n in range(-39, 1)))
QUIETEST_DECIBELS = -90.0
LOWEST_RATE, HIGHEST_RATE = 44_100, 192_000
# Nothing before and after, so that whatever plays it has woken up, and no edge that clicks.
_REST_SECONDS, _FADE_SECONDS = 0.5, 0.02
_SEED = 20  # the same signal each time: phases of the multitone, dither


@dataclass(frozen=True, slots=True)
class Kind:
    """What a test signal is called, and how long it sounds."""

    title: str
    seconds: float


KINDS = {
    "sine": Kind("a tone of 1 kHz", 12),
    "steps": Kind("1 kHz in steps up to the level: clipping", len(STEP_DECIBELS) * STEP_SECONDS),
    "sweep": Kind("a sweep from 20 Hz to 20 kHz", 20),
    "multitone": Kind("a multitone, one tone in each third octave", 12),
    "two-tones": Kind("60 Hz and 7 kHz, four to one: intermodulation", 12),
    "wow": Kind("3150 Hz: wow, flutter and speed", 20),
    "silence": Kind("silence", 12),
    "long-silence": Kind("nothing: only record a test tape or record", 40),
}


SILENT = frozenset({"silence", "long-silence"})


def signal(kind: str, *, rate: int = 48_000, level_decibels: float = -20.0) -> Samples:
    """Return a test signal whose peaks reach `level_decibels` of full scale, on one channel.

    kind of KINDS; rate 44,100..192,000 Hz; level_decibels -90..0 dB. Half a second of silence
    stands before and after it. ValueError with a sentence.
    """
    one_of("kind", kind, tuple(KINDS))
    pace = whole("rate", rate, LOWEST_RATE, HIGHEST_RATE)
    level = within("level_decibels", level_decibels, QUIETEST_DECIBELS, 0, "dB")
    made = _MAKERS[kind](np.arange(round(KINDS[kind].seconds * pace)) / pace)
    if kind not in SILENT:
        made *= 10 ** (level / 20) / float(np.abs(made).max())
    rest = round(_REST_SECONDS * pace)
    return np.pad(made * _fades(len(made), pace), rest)


def _sine(place: Samples, hertz: float = TONE_HERTZ) -> Samples:
    made: Samples = np.sin(2 * math.pi * hertz * place)
    return made


def _steps(place: Samples) -> Samples:
    step = np.minimum((place / STEP_SECONDS).astype(int), len(STEP_DECIBELS) - 1)
    made: Samples = _sine(place) * 10 ** (np.array(STEP_DECIBELS)[step] / 20)
    return made


def _sweep(place: Samples) -> Samples:
    """Return a sweep that gives each octave the same time."""
    low, high = SWEEP_HERTZ
    octaves, seconds = math.log(high / low), KINDS["sweep"].seconds
    made: Samples = np.sin(
        2 * math.pi * low * seconds / octaves * np.expm1(place / seconds * octaves)
    )
    return made


def _multitone(place: Samples) -> Samples:
    phases = np.random.default_rng(_SEED).uniform(0, 2 * math.pi, len(CENTRES))
    tones = zip(CENTRES, phases, strict=True)
    made: Samples = sum(
        (np.sin(2 * math.pi * hertz * place + phase) for hertz, phase in tones),
        np.zeros(len(place)),
    )
    return made


def _two_tones(place: Samples) -> Samples:
    made: Samples = sum(
        (share * _sine(place, hertz) for hertz, share in TWO_TONES), np.zeros(len(place))
    )
    return made


_MAKERS: dict[str, Callable[[Samples], Samples]] = {
    "sine": _sine,
    "steps": _steps,
    "sweep": _sweep,
    "multitone": _multitone,
    "two-tones": _two_tones,
    "wow": lambda place: _sine(place, WOW_HERTZ),
    "silence": np.zeros_like,
    "long-silence": np.zeros_like,
}


def _fades(count: int, rate: int) -> Samples:
    long = round(_FADE_SECONDS * rate)
    rise = np.sin(0.5 * math.pi * np.arange(long) / long) ** 2
    fades: Samples = np.concatenate([rise, np.ones(count - 2 * long), rise[::-1]])
    return fades


def on_sides(samples: Samples, side: str) -> Samples:
    """Return samples by (time, channel) for two channels: on both, or on one of them alone."""
    one_of("side", side, SIDES)
    shares = {"both": (1.0, 1.0), "left": (1.0, 0.0), "right": (0.0, 1.0)}[side]
    both: Samples = samples[:, None] * np.array(shares)
    return both


def as_wav(samples: Samples, rate: int) -> bytes:
    """Return a WAV file: 16 bit with dither at 44,100 Hz, as a compact disc has it, else 24 bit."""
    made = io.BytesIO()
    disc = rate == LOWEST_RATE
    kept = _dithered(samples) if disc else samples
    soundfile.write(made, kept, rate, format="WAV", subtype="PCM_16" if disc else "PCM_24")
    return made.getvalue()


def _dithered(samples: Samples) -> Samples:
    """Return samples on the steps of 16 bit, with dither of triangular density where there is sound."""
    chance = np.random.default_rng(_SEED)
    noise = chance.uniform(-0.5, 0.5, samples.shape) + chance.uniform(-0.5, 0.5, samples.shape)
    top = 2.0**15
    steps = np.round(samples * top + noise * (samples != 0))
    kept: Samples = np.clip(steps, -top, top - 1) / top
    return kept
