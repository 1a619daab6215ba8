"""Recordings of every kind, and files that must be refused."""

from __future__ import annotations

import contextlib
import io
import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench.audio import tone, wav
from tests.bench.audio.waves import RATE, as_file, sine


def twenty_four_bit(samples, rate=RATE):
    whole = (np.asarray(samples) * (2**23 - 1)).astype(np.int32)
    body = b"".join(struct.pack("<i", value)[:3] for value in whole)
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(body), b"WAVE", b"fmt ", 16,
                       1, 1, rate, rate * 3, 3, 24, b"data", len(body))  # fmt: skip
    return io.BytesIO(head + body)


@pytest.mark.parametrize("dtype", [np.int16, np.int32, np.float32, np.float64, np.uint8])
def test_every_depth_is_read(dtype):
    wave = sine(amplitude=0.5)
    scale = {np.int16: 32767, np.int32: 2**31 - 1, np.uint8: 127}.get(dtype, 1)
    lift = 128 if dtype is np.uint8 else 0
    recording = wav.read_wav(as_file(wave * scale + lift, dtype=dtype))
    found = tone.tone_of(recording.channel(1), recording.rate)
    assert found.level_decibels == pytest.approx(-6.02, abs=0.08)


def test_24_bits_are_read():
    recording = wav.read_wav(twenty_four_bit(sine(seconds=0.5)))
    assert tone.tone_of(recording.channel(1), RATE).level_decibels == pytest.approx(-6.02, abs=0.01)


@pytest.mark.parametrize("rate", [8_000, 44_100, 96_000, 192_000])
def test_every_rate_is_read(rate):
    recording = wav.read_wav(as_file(sine(1000, rate=rate), rate))
    assert tone.tone_of(recording.channel(1), rate).hertz == pytest.approx(1000, rel=1e-6)


def cut(made, keep):
    made.seek(0)
    return io.BytesIO(made.read()[:keep])


@pytest.mark.parametrize(
    ("made", "sentence"),
    [
        (lambda: io.BytesIO(b""), "The file is empty."),
        (lambda: io.BytesIO(b"not a recording at all, but text"), "cannot be read as a WAV"),
        (lambda: io.BytesIO(b"RIFF" + bytes(40)), "cannot be read as a WAV"),
        (lambda: cut(as_file(sine()), 100_000), "is cut off"),
        (lambda: cut(as_file(sine()), 30), "cannot be read as a WAV"),
        (lambda: as_file(np.zeros(0)), "no samples|cannot be read"),
        (lambda: as_file(sine(seconds=0.1)), "is 100 ms; it must be 200 ms or more"),
        (lambda: as_file(np.zeros(8_000 * 301), 8_000, np.int16), "is 301 s; cut it to 300 s"),
        (lambda: as_file(np.full(RATE, np.nan)), "values that are no numbers"),
        (lambda: as_file(sine(), 4_000), "sample rate is 4,000 Hz"),
        (lambda: as_file(np.zeros((RATE, 9))), "has 9 channels"),
    ],
)  # fmt: skip
def test_files_that_cannot_serve_get_a_sentence(made, sentence):
    with pytest.raises(ValueError, match=sentence):
        wav.read_wav(made())


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200), st.integers(0, 60))
def test_a_broken_file_never_breaks_more_than_itself(junk, place):
    whole = bytearray(as_file(sine(seconds=0.25)).getvalue())
    whole[place : place + len(junk)] = junk
    # Only a sentence may come of it; any other exception fails the test.
    with contextlib.suppress(ValueError):
        wav.read_wav(io.BytesIO(bytes(whole)))
