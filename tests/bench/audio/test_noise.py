from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.io import wavfile

from shop.bench import registry
from shop.bench.audio import noise
from tests.bench.audio.waves import RATE, sine


def test_idle_hum_hints_at_a_loop_or_at_the_supply():
    def heard(hertz):
        quiet = np.random.default_rng(3).normal(0, 1e-5, 2 * RATE)
        return noise.noise_of(quiet + sine(hertz, 1e-3), RATE)

    assert "ground loop" in heard(50).hints[0]
    assert "rectifier ripple" in heard(100).hints[0]
    assert noise.noise_of(np.random.default_rng(4).normal(0, 1e-3, 2 * RATE), RATE).hints == ()
    assert heard(50).fundamental_decibels == pytest.approx(-60, abs=0.1)


def test_white_noise_measures_its_power():
    found = noise.noise_of(
        np.random.default_rng(5).normal(0, 0.01, 4 * RATE), RATE, full_scale_volts=2.0
    )
    wanted = 0.01 * math.sqrt(2) * math.sqrt(20_000 / 24_000)
    assert found.noise_decibels == pytest.approx(20 * math.log10(wanted), abs=0.1)
    assert found.noise_volts == pytest.approx(2.0 * wanted, rel=0.02)


def test_hum_of_both_kinds_points_at_earths_and_supply():
    assert (
        "alike: look at earths" in noise.noise_of(sine(50, 1e-3) + sine(100, 1e-3), RATE).hints[0]
    )


def test_noise_of_a_file_at_60_hertz(tmp_path):
    """A sine of 1/1000 of full scale lies at -60 dB, whatever else is measured of it."""
    wavfile.write(tmp_path / "hum.wav", RATE, sine(120, 1e-3).astype(np.float32))
    found = registry.run("noise", {"path": str(tmp_path / "hum.wav"), "mains_hertz": 60.0})
    assert found["ripple_decibels"] == pytest.approx(-60, abs=1e-3)
    assert found["noise_decibels"] == pytest.approx(-60, abs=1e-3)
    # IEC 61672-1: the A curve at 125 Hz is -16.1 dB, at 100 Hz -19.1 dB.
    assert -60 - 19.1 < found["noise_a_decibels"] < -60 - 16.1
    assert found["noise_volts"] is None


@pytest.mark.parametrize("hertz", [49.8, 50.0, 50.1, 50.2, 59.95, 60.0])
def test_hum_is_followed_where_the_mains_is(hertz):
    place = np.arange(10 * RATE) / RATE
    hum = 1e-3 * np.sin(2 * np.pi * hertz * place) + 2e-4 * np.sin(4 * np.pi * hertz * place + 1)
    found = noise.noise_of(hum + np.random.default_rng(2).normal(0, 1e-5, len(hum)), RATE)
    assert found.mains_hertz == pytest.approx(hertz, abs=1e-3)
    assert found.fundamental_decibels == pytest.approx(-60, abs=0.02)
    assert found.ripple_decibels == pytest.approx(20 * math.log10(2e-4), abs=0.1)
    assert "ground loop" in found.hints[-1]
    assert ("not of 50 Hz" in found.hints[0]) is (hertz > 55)


def test_a_direct_voltage_that_drifts_is_no_noise():
    draw = np.random.default_rng(3).normal(0, 1e-5, 10 * RATE)
    drift = 0.2 * np.arange(10 * RATE) / (10 * RATE)
    found = noise.noise_of(draw + drift, RATE)
    wanted = 1e-5 * math.sqrt(2) * math.sqrt(20_000 / 24_000)
    assert found.noise_decibels == pytest.approx(20 * math.log10(wanted), abs=0.2)
