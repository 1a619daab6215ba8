"""Reading a WAV recording: any common depth, rate and number of channels, or a sentence why not."""

from __future__ import annotations

import os
import warnings
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile

Samples = NDArray[np.float64]

LONGEST_SECONDS, SHORTEST_SECONDS = 300.0, 0.2
LARGEST_BYTES = 64 * 1024 * 1024
LOWEST_RATE, HIGHEST_RATE, MOST_CHANNELS = 8_000, 768_000, 8
SILENT = 10 ** (-100 / 20)


@dataclass(frozen=True)
class Recording:
    """Samples by (time, channel), 1.0 at full scale, and the rate in Hz."""

    samples: Samples
    rate: int
    depth: str

    @property
    def channels(self) -> int:
        """How many channels."""
        return int(self.samples.shape[1])

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.samples) / self.rate

    def channel(self, number: int) -> Samples:
        """Return one channel, counted from 1; ValueError when it has none of that number."""
        if not 1 <= number <= self.channels:
            said = "one channel" if self.channels == 1 else f"{self.channels} channels"
            raise ValueError(f"channel is {number}; the recording has {said}.")
        one: Samples = self.samples[:, number - 1]
        return one


def read_wav(source: str | BinaryIO) -> Recording:
    """Return a recording from a path or an open file.

    8 to 32 bit whole numbers, 32 and 64 bit floating point, 8 to 768 kHz, up to 8 channels,
    0.2 s to 300 s. ValueError with a sentence for what is no WAV, is cut off, empty, too short
    or too long, or holds numbers that are none.
    """
    _require_size(source)
    rate, raw = _raw(source)
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise ValueError(f"The sample rate is {rate:,} Hz; it must be 8,000 to 768,000 Hz.")
    samples = _scaled(raw)
    _require_length(samples, rate)
    if not np.all(np.isfinite(samples)):
        raise ValueError("The recording holds values that are no numbers; export it again.")
    return Recording(samples, int(rate), str(raw.dtype))


def _require_size(source: str | BinaryIO) -> None:
    if isinstance(source, str):
        if not os.path.isfile(source):
            raise ValueError(f"path is {source!r}; there is no such file.")
        size = os.path.getsize(source)
    else:
        size = source.seek(0, os.SEEK_END)
        source.seek(0)
    if size > LARGEST_BYTES:
        raise ValueError(
            f"The file is {size // 2**20} MB; at most {LARGEST_BYTES // 2**20} MB are taken."
        )
    if size == 0:
        raise ValueError("The file is empty.")


def _raw(source: str | BinaryIO) -> tuple[int, NDArray[np.generic]]:
    try:
        with warnings.catch_warnings(record=True) as said:
            warnings.simplefilter("always", wavfile.WavFileWarning)
            rate, raw = wavfile.read(source)
    except Exception as error:
        # The reader fails in many ways on files that are no WAV: none of them is ours to tell apart.
        raise ValueError(_unreadable(str(error) or type(error).__name__)) from None
    if any("EOF" in str(warning.message) for warning in said):
        raise ValueError(_CUT_OFF)
    if raw.size == 0:
        raise ValueError("The recording holds no samples.")
    return rate, raw


_CUT_OFF = "The recording is cut off: its end is missing. Copy or export it again."


def _unreadable(why: str) -> str:
    # A cut in the middle of a sample shows as a buffer that does not divide.
    if "multiple of element size" in why:
        return _CUT_OFF
    return (
        f"This cannot be read as a WAV recording ({why.rstrip('.')})."
        " Export it as WAV, PCM or floating point."
    )


def _scaled(raw: NDArray[np.generic]) -> Samples:
    """Return samples as float, 1.0 at full scale, always two-dimensional."""
    shaped = raw.reshape(len(raw), -1)
    if shaped.shape[1] > MOST_CHANNELS:
        raise ValueError(f"The recording has {shaped.shape[1]} channels; at most 8 are taken.")
    if raw.dtype == np.uint8:
        return (shaped.astype(np.float64) - 128) / 128
    if np.issubdtype(raw.dtype, np.integer):
        full_scale = 2.0 ** (8 * raw.dtype.itemsize - 1)
        whole: Samples = shaped.astype(np.float64) / full_scale
        return whole
    return shaped.astype(np.float64)


def _require_length(samples: Samples, rate: int) -> None:
    seconds = len(samples) / rate
    if seconds < SHORTEST_SECONDS:
        raise ValueError(f"The recording is {seconds * 1000:.0f} ms; it must be 200 ms or more.")
    if seconds > LONGEST_SECONDS:
        raise ValueError(
            f"The recording is {seconds:.0f} s; cut it to {LONGEST_SECONDS:.0f} s at most."
        )
