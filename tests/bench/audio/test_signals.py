"""Each test signal is measured by the analysis that it is for, and by the header of its file."""

from __future__ import annotations

import io

import numpy as np
import pytest
from scipy.io import wavfile

from shop.bench.audio import flutter, intermodulation, noise, response, signals, stepped, tone
from shop.bench.audio.wav import Recording, read_wav

RATES = (44_100, 48_000, 96_000)


@pytest.mark.parametrize("kind", [kind for kind in signals.KINDS if kind not in signals.SILENT])
@pytest.mark.parametrize("level", [-40.0, 0.0])
def test_the_peaks_reach_the_level_and_never_pass_it(kind, level):
    made = signals.signal(kind, level_decibels=level)
    assert np.abs(made).max() == pytest.approx(10 ** (level / 20), rel=1e-3)
    assert np.abs(made).max() <= 10 ** (level / 20)
    assert not made[: 48_000 // 2].any()
    assert not made[-48_000 // 2 :].any()


@pytest.mark.parametrize("kind", sorted(signals.SILENT))
def test_silence_is_silent(kind):
    assert not signals.signal(kind, level_decibels=0).any()


@pytest.mark.parametrize("rate", RATES)
def test_a_tone_is_the_tone_that_was_asked_for(rate):
    found = tone.tone_of(signals.signal("sine", rate=rate, level_decibels=-12), rate)
    assert (found.hertz, found.level_decibels) == pytest.approx((1000, -12), abs=1e-3)
    assert found.thd_n_percent < 1e-6


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(("kind", "ripple"), [("sweep", 0.002), ("multitone", 0.01)])
def test_what_is_for_a_response_is_level(rate, kind, ripple):
    made = signals.signal(kind, rate=rate)
    found = response.response_of(Recording(made[:, None], rate))
    assert found.method == kind
    assert found.ripple_decibels < ripple
    assert found.hertz[0] < 26
    assert found.hertz[-1] > 18_500


def test_the_others_are_what_their_analysis_wants():
    two = intermodulation.intermodulation_of(signals.signal("two-tones"), 48_000)
    assert (two.level_ratio, two.method) == (pytest.approx(4), "modulation")
    assert two.intermodulation_percent < 1e-6
    wow = flutter.flutter_of(signals.signal("wow"), 48_000)
    assert (wow.speed_error_percent, wow.weighted_flutter_percent) == pytest.approx(
        (0, 0), abs=1e-6
    )
    steps = stepped.stepped_of(signals.signal("steps", level_decibels=-3), 48_000)
    assert steps.level_decibels == pytest.approx(
        [-3 + step for step in signals.STEP_DECIBELS], abs=0.01
    )


@pytest.mark.parametrize(("rate", "kept"), [(44_100, np.int16), (48_000, np.int32)])
def test_a_file_is_read_by_another_library_as_it_was_made(rate, kept):
    made = signals.signal("sine", rate=rate, level_decibels=0)
    file = signals.as_wav(signals.on_sides(made, "left"), rate)
    seen, samples = wavfile.read(io.BytesIO(file))
    assert (seen, samples.dtype, samples.shape) == (rate, kept, (len(made), 2))
    assert not samples[:, 1].any()
    assert np.abs(samples[:, 0] / float(np.iinfo(kept).max) - made).max() < 1e-4
    assert read_wav(io.BytesIO(file)).channels == 2


def test_a_disc_has_dither_so_that_a_soft_tone_is_not_distorted():
    """At -90 dB a sine is one step high: without dither a square wave with 48 % (closed form)."""
    made = signals.signal("sine", rate=44_100, level_decibels=-90)
    heard = read_wav(io.BytesIO(signals.as_wav(made[:, None], 44_100))).channel(1)
    lines = np.abs(np.fft.rfft(heard[44_100 : 11 * 44_100]))
    assert lines[10_000] > 3 * lines[10_010:].max()
    # White noise of a third of a step squared to each side and the step's own: -96.3 + 3.0 dB, AES17.
    rest = noise.noise_of(heard - made, 44_100, bandwidth_hertz=22_050)
    assert rest.noise_decibels == pytest.approx(-98.1 + 4.8, abs=0.7)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "bang"}, "kind is 'bang'; it must be one of sine"),
        ({"level_decibels": 1}, "level_decibels is 1 dB; it must be from -90 to 0 dB"),
        ({"rate": 8000}, "rate is 8000; it must be from 44100 to 192000"),
    ],
)
def test_what_cannot_be_gets_a_sentence(given, said):
    with pytest.raises(ValueError, match=said.replace("(", "\\(")):
        signals.signal(**{"kind": "sine"} | given)


def test_a_side_is_both_left_or_right():
    made = np.array([1.0, 2.0])
    assert signals.on_sides(made, "right").tolist() == [[0, 1], [0, 2]]
    with pytest.raises(ValueError, match="side is 'up'"):
        signals.on_sides(made, "up")
