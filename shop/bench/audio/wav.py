"""Reading a WAV, FLAC or AIFF recording by libsndfile: any common depth, rate and number of channels, or a sentence why not."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any, BinaryIO

import numpy as np
import soundfile
from numpy.typing import NDArray

from checklists.engine.figures import grouped
from checklists.engine.quoting import quoted
from shop.bench.audio.wav_header import BadHeader, CutOff, require_whole, require_whole_aiff

Samples = NDArray[np.float64]
Stored = NDArray[Any]

LONGEST_SECONDS, SHORTEST_SECONDS = 300.0, 0.2
LARGEST_BYTES = 64 * 1024 * 1024
# Of each channel; what is longer is kept from its middle, which is what tones and noise are read from.
MOST_FRAMES = 2**21
LOWEST_RATE, HIGHEST_RATE, MOST_CHANNELS = 8_000, 768_000, 8
SILENT = 10 ** (-100 / 20)

# How each depth is kept in memory, and what full scale is there. Nothing is lost: the library
# moves the bits of 8 and 24 up to the top of the next larger whole number.
_KEPT_AS: dict[str, tuple[type[np.generic], float]] = {
    "PCM_U8": (np.int16, 2.0**15),
    "PCM_S8": (np.int16, 2.0**15),
    "PCM_16": (np.int16, 2.0**15),
    "PCM_24": (np.int32, 2.0**31),
    "PCM_32": (np.int32, 2.0**31),
    "FLOAT": (np.float32, 1.0),
    "DOUBLE": (np.float64, 1.0),
}
_BLOCK_FRAMES = 65_536


@dataclass(frozen=True)
class Recording:
    """Samples by (time, channel), their rate in Hz, and which of their values is full scale.

    They are kept as they stand in the file, so that a recording takes no more memory than its
    file; only the channel that is measured becomes floating point. `whole`: nothing of the file
    was left out at its ends.
    """

    samples: Stored
    rate: int
    full_scale: float = 1.0
    whole: bool = True

    @property
    def channels(self) -> int:
        """How many channels."""
        return int(self.samples.shape[1])

    def channel(self, number: int) -> Samples:
        """Return one channel, counted from 1, as 1.0 at full scale; ValueError when there is none."""
        if not 1 <= number <= self.channels:
            count = "one channel" if self.channels == 1 else f"{self.channels} channels"
            raise ValueError(f"channel is {number}; the recording has {count}.")
        scaled: Samples = self.samples[:, number - 1].astype(np.float64)
        scaled /= self.full_scale
        return scaled


def read_wav(source: str | BinaryIO) -> Recording:
    """Return a recording from a path or an open file.

    8 to 32 bit whole numbers, 32 and 64 bit floating point, 8 to 768 kHz, up to 8 channels,
    0.2 s to 300 s, 64 MB; WAV, FLAC, AIFF. ValueError with a sentence for what is none, is cut off, empty, too
    short or too long, or holds numbers that are none.
    """
    if not isinstance(source, str):
        return _read(source)
    if not os.path.isfile(source):
        raise ValueError(f"path is {quoted(source)}; there is no such file.")
    with open(source, "rb") as file:
        return _read(file)


def _read(file: BinaryIO) -> Recording:
    size = file.seek(0, os.SEEK_END)
    _require_size(size)
    try:
        _require_whole(file, size)
        file.seek(0)
        with soundfile.SoundFile(file) as sound:
            return _recording(sound)
    except CutOff:
        raise ValueError(
            "The recording is cut off: its end is missing. Copy or export it again."
        ) from None
    except BadHeader as error:
        raise ValueError(_unreadable(str(error))) from None
    except soundfile.LibsndfileError as error:
        raise ValueError(_unreadable(error.error_string)) from None


def _require_whole(file: BinaryIO, size: int) -> None:
    file.seek(0)
    head = file.read(12)
    if head[:4] == b"fLaC":
        return  # it knows its length and checks its samples while it is read
    if head[:4] == b"FORM" and head[8:] in (b"AIFF", b"AIFC"):
        require_whole_aiff(file, size)
        return
    require_whole(file, size)


def _recording(sound: soundfile.SoundFile) -> Recording:
    _require_fit(sound)
    kept_as, full_scale = _KEPT_AS[sound.subtype]
    samples = _samples(sound, kept_as)
    return Recording(samples, sound.samplerate, full_scale, len(samples) == sound.frames)


def _require_size(size: int) -> None:
    if size > LARGEST_BYTES:
        raise ValueError(
            f"The file is {size // 2**20} MB; at most {LARGEST_BYTES // 2**20} MB are taken."
        )
    if size == 0:
        raise ValueError("The file is empty.")


def _require_fit(sound: soundfile.SoundFile) -> None:
    """ValueError with a sentence unless rate, channels, depth and length are what is taken."""
    if sound.subtype not in _KEPT_AS:
        raise BadHeader(f"its samples are packed as {sound.subtype}")
    if not LOWEST_RATE <= sound.samplerate <= HIGHEST_RATE:
        raise ValueError(
            f"The sample rate is {grouped(sound.samplerate)} Hz; it must be 8 to 768 kHz."
        )
    if sound.channels > MOST_CHANNELS:
        raise ValueError(f"The recording has {sound.channels} channels; at most 8 are taken.")
    if sound.frames == 0:
        raise ValueError("The recording holds no samples.")
    _require_length(sound.frames / sound.samplerate)


def _require_length(seconds: float) -> None:
    if seconds < SHORTEST_SECONDS:
        raise ValueError(f"The recording is {seconds * 1000:.0f} ms; it must be 200 ms or more.")
    if seconds > LONGEST_SECONDS:
        raise ValueError(
            f"The recording is {seconds:.0f} s; cut it to {LONGEST_SECONDS:.0f} s at most."
        )


def _samples(sound: soundfile.SoundFile, kept_as: type[np.generic]) -> Stored:
    """Return the samples, or the middle of too many, in blocks so that nothing else is in memory."""
    count = min(sound.frames, MOST_FRAMES)
    samples = np.empty((count, sound.channels), dtype=kept_as)
    sound.seek((sound.frames - count) // 2)
    for start in range(0, count, _BLOCK_FRAMES):
        block = samples[start : start + _BLOCK_FRAMES]
        if len(sound.read(out=block)) < len(block):
            raise CutOff
        if not np.all(np.isfinite(block)):
            raise ValueError("The recording holds values that are no numbers; export it again.")
    return samples


def _unreadable(why: str) -> str:
    return (
        f"This cannot be read as a WAV recording ({why.rstrip('.')})."
        " Export it as WAV, FLAC or AIFF, PCM or floating point."
    )
