"""Waves and recordings that the audio tests measure."""

from __future__ import annotations

import io
import math

import numpy as np
from scipy.io import wavfile

from shop.bench.audio import wav

RATE = 48_000


def times(seconds=2.0, rate=RATE):
    return np.arange(int(seconds * rate)) / rate


def sine(hertz=997.0, amplitude=0.5, seconds=2.0, rate=RATE, phase=0.3):
    return amplitude * np.sin(2 * math.pi * hertz * times(seconds, rate) + phase)


def as_file(samples, rate=RATE, dtype=np.float32):
    made = io.BytesIO()
    wavfile.write(made, rate, np.asarray(samples).astype(dtype))
    made.seek(0)
    return made


def pair(left, right):
    return wav.Recording(np.column_stack([left, right]), RATE)
