"""Tones that swing, and what is no tone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.audio import flutter
from tests.bench.audio.waves import RATE, as_file, sine, times
from tests.helpers_plain import examples


def swung(swings, percent, hertz=3150.0, seconds=12.0, amplitude=0.3):
    turn = 2 * math.pi * hertz * times(seconds)
    turn += hertz * percent / 100 / swings * np.sin(2 * math.pi * swings * times(seconds))
    return amplitude * np.sin(turn)


@settings(max_examples=examples(10), deadline=None)
@given(st.floats(2, 60), st.floats(0.02, 2), st.floats(900, 4000), st.floats(0.01, 0.9))
def test_the_swing_put_in_is_found_again(swings, percent, hertz, amplitude):
    found = flutter.flutter_of(swung(swings, percent, hertz, amplitude=amplitude), RATE)
    assert found.hertz == pytest.approx(hertz, rel=1e-4)
    assert found.unweighted_flutter_percent == pytest.approx(0.997 * percent, rel=0.02)
    assert found.rate_hertz == pytest.approx(swings, abs=0.1)
    assert found.weighted_flutter_percent <= found.unweighted_flutter_percent * 1.001


def test_a_steady_tone_has_none_and_noise_adds_little():
    steady = flutter.flutter_of(sine(3150, 0.3, 12), RATE)
    assert steady.weighted_flutter_percent < 1e-6
    hiss = np.random.default_rng(3).normal(0, 0.003, 12 * RATE)  # 37 dB below, as from a cassette
    assert flutter.flutter_of(sine(3150, 0.3, 12) + hiss, RATE).weighted_flutter_percent < 0.01


def test_distortion_hum_and_offset_do_not_change_it():
    plain = swung(4, 0.1)
    dirty = plain + 0.2 * plain**2 + sine(50, 0.1, 12) + 0.05
    clean = flutter.flutter_of(plain, RATE).weighted_flutter_percent
    assert flutter.flutter_of(dirty, RATE).weighted_flutter_percent == pytest.approx(
        clean, rel=0.02
    )


@pytest.mark.parametrize(
    ("samples", "sentence"),
    [
        (np.zeros(5 * RATE), "silent on this channel"),
        (sine(3150, seconds=2.0), "The recording is 2.0 s; wow needs 3 s"),
        (np.random.default_rng(1).normal(0, 0.1, 5 * RATE), "No steady tone was found"),
    ],
)
def test_what_is_no_test_tone_gets_a_sentence(samples, sentence):
    with pytest.raises(ValueError, match=sentence):
        flutter.flutter_of(samples, RATE)


def test_hints_tell_short_recordings_the_other_tone_and_the_cause():
    short = flutter.flutter_of(swung(5 / 9, 0.3, 3000, seconds=8), RATE).hints
    assert [
        word for word in ("Only 7.0 s", "nearer to 3", "33 1/3") if word not in " ".join(short)
    ] == []
    assert flutter.flutter_of(swung(9, 0.3), RATE).hints == ()


def test_the_shell_takes_a_file(tmp_path):
    path = tmp_path / "tone.wav"
    path.write_bytes(as_file(swung(4, 0.1)).getvalue())
    found = registry.run("flutter", {"path": str(path), "test_hertz": 3000.0})
    assert found["speed_error_percent"] == pytest.approx(5, rel=1e-4)


def test_speeds_of_different_units_are_refused():
    with pytest.raises(ValueError, match="measured is 45 and wanted is 3150"):
        flutter.speed_error(45, 3150)
    assert "too slow, 10 cents" in flutter.speed_error(3131.8, 3150).says
    assert "runs right" in flutter.speed_error(3150, 3150).says


def test_silence_before_and_after_the_tone_is_left_out():
    tone = sine(3150, seconds=6.0)
    quiet = np.random.default_rng(1).normal(0, 1e-4, RATE)
    found = flutter.flutter_of(np.concatenate([quiet, tone, quiet]), RATE)
    alone = flutter.flutter_of(tone, RATE)
    assert found.weighted_flutter_percent == pytest.approx(alone.weighted_flutter_percent, abs=1e-3)
    assert found.measured_seconds == pytest.approx(alone.measured_seconds, abs=0.05)
