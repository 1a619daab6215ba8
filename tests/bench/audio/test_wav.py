"""Recordings of every kind, and files that must be refused."""

from __future__ import annotations

import contextlib
import io
import struct
import tracemalloc

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.io import wavfile

from shop.bench.audio import tone, wav
from tests.bench.audio.waves import RATE, as_file, pair, sine
from tests.helpers_plain import examples


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
        (lambda: as_file(sine(), 4_000), "sample rate is 4\u202f000 Hz"),
        (lambda: as_file(np.zeros((RATE, 9))), "has 9 channels"),
    ],
)  # fmt: skip
def test_files_that_cannot_serve_get_a_sentence(made, sentence):
    with pytest.raises(ValueError, match=sentence):
        wav.read_wav(made())


@pytest.mark.parametrize(
    ("kind", "packed"),
    [("CAF", "PCM_16"), ("OGG", "VORBIS"), ("WAV", "ULAW"), ("WAVEX", "ULAW")],
)
def test_what_the_library_could_read_besides_is_refused(kind, packed):
    made = io.BytesIO()
    soundfile.write(made, sine(seconds=0.5), RATE, format=kind, subtype=packed)
    with pytest.raises(ValueError, match=r"cannot be read as a WAV recording \(it.* Export it as"):
        wav.read_wav(made)


@pytest.mark.filterwarnings("ignore::scipy.io.wavfile.WavFileWarning")
@pytest.mark.parametrize(
    ("depth", "kept_as"),
    [("PCM_U8", np.int16), ("PCM_24", np.int32), ("FLOAT", np.float32), ("DOUBLE", np.float64)],
)
def test_samples_come_back_to_the_last_bit(depth, kept_as):
    """Read again by SciPy, which shares no code with the library."""
    made = io.BytesIO()
    soundfile.write(made, np.column_stack([sine(seconds=3), sine(50, seconds=3)]), RATE,
                    format="WAV", subtype=depth)  # fmt: skip
    recording = wav.read_wav(made)
    assert recording.samples.dtype == kept_as
    made.seek(0)
    _, other = wavfile.read(made)
    full_scale = {"PCM_U8": 2.0**7, "PCM_24": 2.0**31}.get(depth, 1.0)
    for place in range(2):
        wanted = (other[:, place].astype(float) - (128 if depth == "PCM_U8" else 0)) / full_scale
        assert np.array_equal(recording.channel(place + 1), wanted)


def test_a_file_that_is_too_large_is_not_opened():
    class Large(io.BytesIO):
        def seek(self, *_):
            return 65 * 2**20

    with pytest.raises(ValueError, match="The file is 65 MB; at most 64 MB are taken"):
        wav.read_wav(Large())


def test_a_recording_takes_no_more_memory_than_its_file():
    made = as_file(sine(seconds=20) * 32767, dtype=np.int16)
    size = len(made.getvalue())
    tracemalloc.start()
    wav.read_wav(made)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 1.2 * size + 2**20


def test_what_is_too_long_is_kept_from_its_middle(monkeypatch):
    monkeypatch.setattr(wav, "MOST_FRAMES", 4_000)
    ramp = np.arange(10_000, dtype=np.int16)
    kept = wav.read_wav(as_file(ramp, 8_000, np.int16))
    assert (kept.whole, len(kept.samples)) == (False, 4_000)
    assert kept.samples[0, 0] == ramp[3_000]
    assert wav.read_wav(as_file(ramp[:4_000], 8_000, np.int16)).whole


def test_a_channel_that_is_not_there_gets_a_sentence():
    one = wav.read_wav(as_file(sine(seconds=0.5)))
    with pytest.raises(ValueError, match="channel is 2; the recording has one channel"):
        one.channel(2)
    with pytest.raises(ValueError, match="channel is 0; the recording has 2 channels"):
        pair(sine(), sine()).channel(0)


@settings(max_examples=examples(60), deadline=None)
@given(st.binary(max_size=200), st.integers(0, 60))
def test_a_broken_file_never_breaks_more_than_itself(junk, place):
    whole = bytearray(as_file(sine(seconds=0.25)).getvalue())
    whole[place : place + len(junk)] = junk
    # Only a sentence may come of it; any other exception fails the test.
    with contextlib.suppress(ValueError):
        wav.read_wav(io.BytesIO(bytes(whole)))


def test_a_file_that_grows_shorter_while_it_is_read_is_cut_off():
    class Shrinking(io.BytesIO):
        """As long as it says until the samples are read, then at its end."""

        def readinto(self, buffer):
            return 0 if self.tell() > 50_000 else super().readinto(buffer)

    with pytest.raises(ValueError, match="is cut off"):
        wav.read_wav(Shrinking(as_file(sine()).getvalue()))


@pytest.mark.parametrize(
    ("kind", "depth"),
    [("FLAC", "PCM_16"), ("FLAC", "PCM_24"), ("AIFF", "PCM_16"), ("AIFF", "PCM_24"), ("AIFF", "PCM_S8")],
)  # fmt: skip
def test_flac_and_aiff_are_read(kind, depth):
    made = io.BytesIO()
    soundfile.write(made, sine(amplitude=0.5), RATE, format=kind, subtype=depth)
    recording = wav.read_wav(made)
    found = tone.tone_of(recording.channel(1), recording.rate)
    assert found.level_decibels == pytest.approx(-6.02, abs=0.08)


@pytest.mark.parametrize("kind", ["FLAC", "AIFF"])
def test_flac_and_aiff_that_are_cut_off_are_refused(kind):
    made = io.BytesIO()
    soundfile.write(made, sine(), RATE, format=kind, subtype="PCM_16")
    with pytest.raises(ValueError, match=r"cut off|cannot be read"):
        wav.read_wav(cut(made, len(made.getvalue()) // 2))


@pytest.mark.parametrize("length", [0xFFFFFFFF, 0x7FFFFFFF, 0xFFFFFFFF - 36])
def test_a_header_whose_length_was_never_written_is_read_to_the_end(length):
    body = (sine() * 2**15).astype("<i2").tobytes()
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 0xFFFFFFFF, b"WAVE", b"fmt ", 16,
                       1, 1, RATE, RATE * 2, 2, 16, b"data", length)  # fmt: skip
    assert len(wav.read_wav(io.BytesIO(head + body)).samples) == len(body) // 2
