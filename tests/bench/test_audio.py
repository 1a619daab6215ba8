"""Recordings: files of every kind, spectra that are known, and files that must be refused."""

from __future__ import annotations

import contextlib
import io
import math
import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.io import wavfile

from shop.bench import registry
from shop.bench.audio import response, tone, wav

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


def twenty_four_bit(samples, rate=RATE):
    whole = (np.asarray(samples) * (2**23 - 1)).astype(np.int32)
    body = b"".join(struct.pack("<i", value)[:3] for value in whole)
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(body), b"WAVE", b"fmt ", 16,
                       1, 1, rate, rate * 3, 3, 24, b"data", len(body))  # fmt: skip
    return io.BytesIO(head + body)


@settings(max_examples=25, deadline=None)
@given(
    st.floats(40, 4000), st.floats(0.05, 0.6), st.floats(1e-4, 0.2), st.floats(1e-4, 0.2),
    st.floats(0, 6.28), st.floats(-0.05, 0.05),
)  # fmt: skip
def test_harmonics_put_in_are_found_again(hertz, amplitude, second, third, phase, offset):
    wave = sine(hertz, amplitude, phase=phase) + offset
    wave += sine(2 * hertz, amplitude * second, phase=1.0)
    wave += sine(3 * hertz, amplitude * third, phase=2.0)
    found = tone.tone_of(wave, RATE)
    assert found.hertz == pytest.approx(hertz, rel=1e-6)
    assert found.second_percent == pytest.approx(100 * second, rel=1e-4)
    assert found.third_percent == pytest.approx(100 * third, rel=1e-4)
    assert found.thd_f_percent == pytest.approx(100 * math.hypot(second, third), rel=1e-4)
    assert found.offset_percent == pytest.approx(100 * offset, abs=0.05)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.01, 0.8))
def test_loudness_changes_the_level_and_nothing_else(gain):
    wave = sine() + sine(1994, 0.005)
    loud, soft = tone.tone_of(wave, RATE), tone.tone_of(gain * wave, RATE)
    assert soft.level_decibels == pytest.approx(loud.level_decibels + 20 * math.log10(gain))
    assert soft.thd_f_percent == pytest.approx(loud.thd_f_percent)


def test_noise_of_a_known_power_is_measured():
    noise = np.random.default_rng(1).normal(0, 0.001, 2 * RATE)
    found = tone.tone_of(sine(amplitude=0.5) + noise, RATE, 20_000)
    in_band = 0.001 * math.sqrt(20_000 / 24_000)
    assert found.snr_decibels == pytest.approx(
        20 * math.log10(0.5 / math.sqrt(2) / in_band), abs=0.15
    )
    assert found.thd_n_percent == pytest.approx(100 * in_band / (0.5 / math.sqrt(2)), rel=0.02)
    assert found.snr_a_decibels > found.snr_decibels


def test_a_narrower_band_lets_less_noise_through():
    noise = np.random.default_rng(2).normal(0, 0.001, 2 * RATE)
    wide, narrow = (tone.tone_of(sine() + noise, RATE, band) for band in (20_000, 5_000))
    assert narrow.thd_n_percent < wide.thd_n_percent / 1.8
    assert narrow.bandwidth_hertz == 5_000


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


@pytest.mark.parametrize(
    ("samples", "sentence"),
    [
        (np.zeros(RATE), "is silent on this channel"),
        (np.full(RATE, 0.3), "is silent on this channel"),
        (np.clip(sine(amplitude=2.0), -1, 1), "recording itself is clipped"),
    ],
)
def test_samples_that_cannot_serve_get_a_sentence(samples, sentence):
    with pytest.raises(ValueError, match=sentence):
        tone.tone_of(samples, RATE)


def hints(samples):
    return " ".join(tone.tone_of(samples, RATE).hints)


def test_what_a_tone_hints_at():
    assert "Flat tops" in hints(np.clip(sine(amplitude=0.5), -0.35, 0.35))
    assert "Flat tops" not in hints(sine())
    assert "direct voltage of 10.0 %" in hints(sine() + 0.1)
    assert "Even harmonics lead" in hints(sine() + sine(1994, 0.02))
    assert "Odd harmonics lead" in hints(sine() + sine(2991, 0.02))


def test_idle_hum_hints_at_a_loop_or_at_the_supply():
    def heard(hertz):
        quiet = np.random.default_rng(3).normal(0, 1e-5, 2 * RATE)
        return tone.noise_of(quiet + sine(hertz, 1e-3), RATE)

    assert "ground loop" in heard(50).hints[0]
    assert "rectifier ripple" in heard(100).hints[0]
    assert tone.noise_of(np.random.default_rng(4).normal(0, 1e-3, 2 * RATE), RATE).hints == ()
    assert heard(50).fundamental_decibels == pytest.approx(-60, abs=0.1)


def test_white_noise_measures_its_power():
    found = tone.noise_of(np.random.default_rng(5).normal(0, 0.01, 4 * RATE), RATE, 20_000, 2.0)
    wanted = 0.01 * math.sqrt(2) * math.sqrt(20_000 / 24_000)
    assert found.noise_decibels == pytest.approx(20 * math.log10(wanted), abs=0.1)
    assert found.noise_volts == pytest.approx(2.0 * wanted, rel=0.02)


def pair(left, right):
    return wav.Recording(np.column_stack([left, right]), RATE, "float64")


@pytest.mark.parametrize("decibels", [20, 60, 90])
def test_separation_of_a_known_leak(decibels):
    leak = sine(amplitude=0.5 * 10 ** (-decibels / 20), phase=1.0)
    assert response.separation_of(pair(sine(), leak)).separation_decibels == pytest.approx(
        decibels, abs=0.01
    )
    assert response.separation_of(pair(leak, sine())).driven_channel == 2


def test_separation_needs_two_channels_with_something_on_one():
    with pytest.raises(ValueError, match="separation needs 2"):
        response.separation_of(wav.Recording(sine()[:, None], RATE, "x"))
    with pytest.raises(ValueError, match="silent on both"):
        response.separation_of(pair(np.zeros(RATE), np.zeros(RATE)))


def low_pass(hertz, corner):
    return -10 * np.log10(1 + (np.asarray(hertz) / corner) ** 2)


def filtered(samples, corner):
    spectrum = np.fft.rfft(samples)
    places = np.fft.rfftfreq(len(samples), 1 / RATE)
    return np.fft.irfft(spectrum / (1 + 1j * places / corner), len(samples))


def test_response_against_a_reference_is_the_filter():
    white = np.random.default_rng(6).normal(0, 0.1, 20 * RATE)
    found = response.response_of(pair(filtered(white, 5000), white), 1, 2)
    at = np.array(found.hertz)
    assert found.method == "reference"
    assert (
        np.max(np.abs(np.array(found.decibels) - low_pass(at, 5000) + low_pass(1000, 5000))) < 0.3
    )
    assert found.highest_hertz == pytest.approx(5000, rel=0.2)


def test_response_from_a_multitone_is_the_filter():
    tones = [31.5 * 2**n for n in range(10)]
    white = sum(sine(tone, 0.05, phase=n) for n, tone in enumerate(tones))
    found = response.response_of(wav.Recording(filtered(white, 3000)[:, None], RATE, "x"))
    at = np.array(found.hertz)
    assert found.method == "multitone"
    assert len(at) == 10
    nearest = at[np.argmin(np.abs(np.log(at / 1000)))]
    assert (
        np.max(np.abs(np.array(found.decibels) - low_pass(at, 3000) + low_pass(nearest, 3000)))
        < 0.1
    )


def test_response_from_a_sweep_is_the_filter():
    long = 20.0
    place = times(long)
    rate = math.log(20_000 / 20)
    sweep = 0.5 * np.sin(2 * math.pi * 20 * long / rate * np.expm1(place / long * rate))
    found = response.response_of(wav.Recording(filtered(sweep, 4000)[:, None], RATE, "x"))
    at, level = np.array(found.hertz), np.array(found.decibels)
    inside = (at > 100) & (at < 15_000)
    assert found.method == "sweep"
    wanted = low_pass(at, 4000) - low_pass(1000, 4000)
    assert np.max(np.abs(level - wanted)[inside]) < 0.5


def test_the_shell_face_reads_a_path(tmp_path):
    wavfile.write(tmp_path / "tone.wav", RATE, sine().astype(np.float32))
    found = registry.run("tone", {"path": str(tmp_path / "tone.wav"), "full_scale_volts": 10.0})
    assert found["level_volts"] == pytest.approx(5.0, rel=1e-4)
    with pytest.raises(ValueError, match="there is no such file"):
        registry.run("tone", {"path": str(tmp_path / "none.wav")})
