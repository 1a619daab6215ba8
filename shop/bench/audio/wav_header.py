"""What the header of a WAV file promises, checked before the library reads it.

The library takes twenty kinds of file, reads what is there of one that breaks off, and believes
the first of two figures that contradict each other. A recording that is measured must be a WAV
file, whole, and at the rate that it says.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO

_MOST_CHUNKS = 1000  # a real file has less than ten; each one costs a read
NEVER_TOLD = 0x7FFF0000  # no file that is taken is as long
_NOT_PACKED = (1, 3, 0xFFFE)  # format tags: PCM, floating point, and told further on


class BadHeader(ValueError):
    """Why the file is no WAV file that can be read; a clause, not a sentence."""


class CutOff(ValueError):
    """The samples should be longer than the file is."""


@dataclass(frozen=True)
class _Chunk:
    """A chunk of the file: its name, where its body starts, and how long that should be."""

    name: bytes
    start: int
    length: int


def require_whole(file: BinaryIO, size: int) -> None:
    """Return when the file is a WAV file with all its samples and a header without contradiction.

    size is that of the file, in bytes. RIFF, RIFX (big-endian) and RF64 are known.
    BadHeader or CutOff otherwise.
    """
    form, wave = _unpacked(file, 0, "<4s4x4s")
    if form not in (b"RIFF", b"RIFX", b"RF64") or wave != b"WAVE":
        raise BadHeader("it does not begin like one")
    order = ">" if form == b"RIFX" else "<"
    frame_bytes = 0
    for chunk in _chunks(file, size, order):
        if chunk.name == b"fmt ":
            frame_bytes = _frame_bytes(file, chunk, order)
        if chunk.name == b"data":
            _require_samples(chunk, frame_bytes, size)
            return
    raise BadHeader("it has no chunk of samples")


def require_whole_aiff(file: BinaryIO, size: int) -> None:
    """Return when an AIFF file has all its samples; CutOff or BadHeader otherwise."""
    place = 12
    for _ in range(_MOST_CHUNKS):
        name, length = _unpacked(file, place, ">4sI")
        if name == b"SSND":
            if place + 8 + length > size:
                raise CutOff
            return
        place += 8 + length + length % 2
        if place + 8 > size:
            raise CutOff
    raise BadHeader("it has no chunk of samples")


def _chunks(file: BinaryIO, size: int, order: str) -> Iterator[_Chunk]:
    place, samples_length = 12, None
    for _ in range(_MOST_CHUNKS):
        if place + 8 > size:
            return
        name, length = _unpacked(file, place, order + "4sI")
        if name == b"ds64":  # RF64 keeps the length of its samples here
            (samples_length,) = _unpacked(file, place + 8, "<8xQ")
        elif name == b"data" and samples_length is not None:
            length = samples_length
        yield _Chunk(name, place + 8, length)
        place += 8 + length + length % 2


def _frame_bytes(file: BinaryIO, chunk: _Chunk, order: str) -> int:
    """Return the bytes of one sample of all channels; BadHeader when the figures do not agree."""
    figures = _unpacked(file, chunk.start, order + "HHIIHH")
    tag, channels, rate, bytes_a_second, frame_bytes, bits = figures
    if tag not in _NOT_PACKED:
        raise BadHeader(f"its samples are packed, as format {tag}")
    if bytes_a_second != rate * frame_bytes or frame_bytes != channels * -(-bits // 8):
        raise BadHeader("its rate, channels and depth contradict each other")
    return int(frame_bytes)


def _require_samples(chunk: _Chunk, frame_bytes: int, size: int) -> None:
    if not frame_bytes:
        raise BadHeader("its depth and channels are not told")
    # A recorder that wrote into a pipe could not go back and put the length in.
    if chunk.length >= NEVER_TOLD:
        return
    if chunk.start + chunk.length > size or chunk.length % frame_bytes:
        raise CutOff


def _unpacked(file: BinaryIO, place: int, form: str) -> tuple[Any, ...]:
    """Return the figures at a place; beyond the end of the file they are nought."""
    file.seek(place)
    raw = file.read(struct.calcsize(form))
    return struct.unpack(form, raw.ljust(struct.calcsize(form), b"\0"))
