"""Two tracks, heads and bias."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.audio import tape
from shop.bench.audio.wav import Recording
from tests.bench.audio.waves import RATE, as_file, pair, sine
from tests.helpers_plain import examples


@settings(max_examples=examples(15), deadline=None)
@given(st.floats(500, 12_000), st.floats(-3.0, 3.0), st.floats(0.1, 1.0))
def test_the_phase_put_in_is_found_again(hertz, late, weaker):
    found = tape.azimuth_of(pair(sine(hertz, 0.5), weaker * sine(hertz, 0.5, phase=0.3 - late)))
    assert np.radians(found.phase_degrees) == pytest.approx(late, abs=1e-4)
    assert found.level_difference_decibels == pytest.approx(20 * np.log10(weaker), abs=1e-3)
    assert found.wander_degrees < 0.01


def test_wow_and_hiss_on_both_tracks_do_not_matter():
    turn = 2 * np.pi * 8000 * np.arange(4 * RATE) / RATE + 3 * np.sin(
        2 * np.pi * 2 * np.arange(4 * RATE) / RATE
    )
    hiss = np.random.default_rng(5).normal(0, 0.01, (2, 4 * RATE))
    found = tape.azimuth_of(pair(0.3 * np.sin(turn) + hiss[0], 0.3 * np.sin(turn - 0.5) + hiss[1]))
    assert found.phase_degrees == pytest.approx(np.degrees(0.5), abs=0.5)
    assert 0 < found.wander_degrees < 5


@pytest.mark.parametrize(
    ("recording", "sentence"),
    [
        (Recording(sine()[:, None], RATE), "azimuth needs 2"),
        (pair(sine(8000), np.zeros(2 * RATE)), "silent on channel 2"),
        (pair(sine(8000), sine(9000)), "the same one on both channels"),
    ],
)
def test_what_has_no_common_tone_gets_a_sentence(recording, sentence):
    with pytest.raises(ValueError, match=sentence):
        tape.azimuth_of(recording)


def test_a_low_tone_and_half_a_cycle_are_hinted_at():
    found = tape.azimuth_of(pair(sine(1000), sine(1000, phase=0.3 - 2.9)))
    assert [word for word in ("only coarsely", "Nearly half a cycle") if word in " ".join(found.hints)] == [
        "only coarsely", "Nearly half a cycle",
    ]  # fmt: skip


def test_the_shell_takes_a_file(tmp_path):
    path = tmp_path / "tracks.wav"
    path.write_bytes(as_file(np.column_stack([sine(8000), sine(8000, phase=0)])).getvalue())
    found = registry.run("azimuth", {"path": str(path), "spacing_millimetres": 4.0})
    assert found["phase_degrees"] == pytest.approx(np.degrees(0.3), abs=0.01)


@pytest.mark.parametrize(
    ("bias", "decibels", "over", "sentence"),
    [
        ([1, 2, 3, 4], [0, 1, 2, 3], 1, "peak at an end"),
        ([1, 2, 3, 4], [0, 1, 0.5, 0], 3, "read on with more bias"),
        ([1, 3, 2, 4], [0, 1, 0.5, 0], 1, "must go forward"),
        ([1, 2, 3], [0, 1, 0], 1, "takes 4 to"),
    ],
)
def test_readings_without_a_peak_get_a_sentence(bias, decibels, over, sentence):
    with pytest.raises(ValueError, match=sentence):
        tape.tape_bias(bias, decibels, over)


def test_bias_is_past_the_peak_and_further_for_more():
    bias, level = [60, 80, 100, 120, 140, 160], [-6, -2, 0, -1.5, -4, -8]
    one, three = (tape.tape_bias(bias, level, over) for over in (1, 3))
    assert 90 < one.peak_millivolts < 110
    assert one.peak_millivolts < one.set_millivolts < three.set_millivolts < 140


def test_losses_grow_with_dirt_tilt_and_gap():
    clean = tape.head_losses(10_000)
    for worse in (
        {"gap_to_tape_micrometres": 1.0},
        {"tilt_arc_minutes": 5.0},
        {"gap_micrometres": 2.0},
    ):
        assert tape.head_losses(10_000, **worse).total_decibels < clean.total_decibels
