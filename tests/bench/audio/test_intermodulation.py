"""Two tones, one tone, three tones, noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.audio.intermodulation import intermodulation_of
from tests.bench.audio.waves import RATE, as_file, sine
from tests.helpers_plain import examples


@settings(max_examples=examples(15), deadline=None)
@given(st.floats(40, 400), st.floats(5500, 9000), st.floats(1e-4, 0.05), st.floats(0.05, 1))
def test_sidebands_put_in_are_found_again(low, high, size, gain):
    wave = (
        sine(low, 0.4)
        + sine(high, 0.1)
        + sine(high - low, 0.1 * size)
        + sine(high + low, 0.05 * size)
    )
    found = intermodulation_of(gain * wave, RATE)
    assert (found.method, found.low_hertz) == ("modulation", pytest.approx(low, rel=1e-6))
    assert found.order_2_percent == pytest.approx(150 * size, rel=1e-4)


def test_clean_tones_have_none_and_the_floor_is_told():
    clean = intermodulation_of(sine(60, 0.4) + sine(7000, 0.1), RATE)
    assert clean.intermodulation_percent < 1e-6
    hiss = np.random.default_rng(2).normal(0, 1e-3, 2 * RATE)
    noisy = intermodulation_of(sine(60, 0.4) + sine(7000, 0.1) + hiss, RATE)
    assert noisy.intermodulation_percent < 0.2
    assert "hardly stand out of the noise" in " ".join(noisy.hints)


def test_products_above_the_band_do_not_count():
    wave = sine(19_000, 0.2) + sine(20_000, 0.2) + sine(18_000, 0.002) + sine(21_000, 0.002)
    assert intermodulation_of(wave, RATE).order_3_percent == pytest.approx(0.5, rel=1e-4)
    wide = intermodulation_of(wave, RATE, bandwidth_hertz=24_000)
    assert wide.order_3_percent == pytest.approx(1.0, rel=1e-4)


@pytest.mark.parametrize(
    "samples",
    [
        sine(1000),
        sine(1000, 0.3) + sine(3000, 0.3),
        sine(18_000, 0.4) + sine(20_000, 0.05),
    ],
)
def test_what_is_no_pair_gets_a_sentence(samples):
    with pytest.raises(ValueError, match="Two steady tones are needed"):
        intermodulation_of(samples, RATE)


def test_silence_gets_a_sentence():
    with pytest.raises(ValueError, match="silent"):
        intermodulation_of(np.zeros(RATE), RATE)


def test_uneven_tones_are_hinted_at():
    assert (
        "times the fast one" in intermodulation_of(sine(60, 0.3) + sine(7000, 0.3), RATE).hints[-1]
    )
    assert (
        "not of one level"
        in intermodulation_of(sine(18_000, 0.3) + sine(20_000, 0.2), RATE).hints[-1]
    )


def test_the_shell_takes_a_file(tmp_path):
    path = tmp_path / "pair.wav"
    path.write_bytes(as_file(sine(60, 0.4) + sine(7000, 0.1) + sine(7060, 0.001)).getvalue())
    found = registry.run("intermodulation", {"path": str(path)})
    assert found["order_2_percent"] == pytest.approx(1.0, rel=1e-3)
