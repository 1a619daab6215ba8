"""Headers that lie, contradict themselves, or promise more than is there."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest

from shop.bench.audio.wav import read_wav
from shop.bench.audio.wav_header import BadHeader, CutOff, require_whole
from tests.bench.audio.waves import RATE, sine

BODY = (sine(seconds=0.25) * 2**15).astype("<i2").tobytes()


def chunk(name, body, order="<"):
    return name + struct.pack(order + "I", len(body)) + body + b"\0" * (len(body) % 2)


def figures(order="<", tag=1, channels=1, rate=RATE, a_second=RATE * 2, frame=2, bits=16):
    return struct.pack(order + "HHIIHH", tag, channels, rate, a_second, frame, bits)


def wav_file(*chunks, form=b"RIFF", order="<"):
    body = b"WAVE" + b"".join(chunks)
    return form + struct.pack(order + "I", len(body)) + body


def checked(raw):
    require_whole(io.BytesIO(raw), len(raw))


PLAIN = wav_file(chunk(b"fmt ", figures()), chunk(b"data", BODY))
NOTES = [chunk(b"LIST", b"INFO" + b"a long note " * 400), chunk(b"JUNK", b"odd")]


def test_a_plain_file_is_whole():
    checked(PLAIN)
    assert len(read_wav(io.BytesIO(PLAIN)).samples) == RATE // 4


def test_what_stands_before_the_samples_and_after_them_is_passed_over():
    raw = wav_file(*NOTES, chunk(b"fmt ", figures()), chunk(b"data", BODY), *NOTES)
    assert np.array_equal(read_wav(io.BytesIO(raw)).samples, read_wav(io.BytesIO(PLAIN)).samples)


def test_a_cut_is_seen_behind_long_notes_too():
    raw = wav_file(*NOTES, chunk(b"fmt ", figures()), chunk(b"data", BODY))
    with pytest.raises(CutOff):
        checked(raw[:-2])


def test_big_endian_files_are_read():
    big = np.frombuffer(BODY, "<i2").astype(">i2").tobytes()
    raw = wav_file(
        chunk(b"fmt ", figures(">"), ">"), chunk(b"data", big, ">"), form=b"RIFX", order=">"
    )
    assert np.array_equal(read_wav(io.BytesIO(raw)).samples, read_wav(io.BytesIO(PLAIN)).samples)


def rf64(body, promised):
    """EBU Tech 3306: the length of the samples stands in ds64, that of the chunk is all ones."""
    sizes = chunk(b"ds64", struct.pack("<QQQI", 0, promised, promised // 2, 0))
    samples = b"data" + b"\xff" * 4 + body
    return wav_file(sizes, chunk(b"fmt ", figures()), samples, form=b"RF64")


def test_rf64_is_read_and_its_own_length_counts():
    whole = rf64(BODY, len(BODY))
    assert len(read_wav(io.BytesIO(whole)).samples) == RATE // 4
    with pytest.raises(CutOff):
        checked(rf64(BODY, len(BODY) + 2))


@pytest.mark.parametrize(
    ("lie", "why"),
    [
        ({"rate": RATE * 2}, "contradict"),
        ({"a_second": RATE}, "contradict"),
        ({"frame": 4}, "contradict"),
        ({"channels": 2}, "contradict"),
        ({"bits": 8}, "contradict"),
        ({"bits": 0, "frame": 0, "a_second": 0}, "not told"),
        ({"tag": 2}, "packed, as format 2"),
        ({"tag": 0x55}, "packed, as format 85"),
    ],
)
def test_figures_that_cannot_all_be_true_are_refused(lie, why):
    raw = wav_file(chunk(b"fmt ", figures(**lie)), chunk(b"data", BODY))
    with pytest.raises(BadHeader, match=why):
        checked(raw)
    with pytest.raises(ValueError, match=r"cannot be read as a WAV recording .* Export it as WAV"):
        read_wav(io.BytesIO(raw))


@pytest.mark.parametrize("told", [0x10000000, len(BODY) + 2, len(BODY) - 1])
def test_a_length_that_is_not_true_is_refused(told):
    raw = wav_file(chunk(b"fmt ", figures()), b"data" + struct.pack("<I", told) + BODY)
    with pytest.raises(ValueError, match="is cut off"):
        read_wav(io.BytesIO(raw))


@pytest.mark.parametrize(
    "chunks",
    [[], [chunk(b"fmt ", figures())], [chunk(b"JUNK", b"")] * 2000 + [chunk(b"data", BODY)]],
)
def test_a_file_without_samples_is_refused(chunks):
    with pytest.raises(BadHeader, match="no chunk of samples"):
        checked(wav_file(*chunks))


def test_samples_without_figures_are_refused():
    with pytest.raises(BadHeader, match="not told"):
        checked(wav_file(chunk(b"data", BODY)))


def test_a_depth_that_the_library_does_not_know_is_refused():
    odd = figures(tag=3)  # floating point of 16 bit
    raw = wav_file(chunk(b"fmt ", odd), chunk(b"data", BODY))
    checked(raw)
    with pytest.raises(ValueError, match=r"cannot be read as a WAV recording \(.*\)\. Export it"):
        read_wav(io.BytesIO(raw))
