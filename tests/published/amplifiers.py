"""Levels, power at a stated distortion, slew rate, and noise by ITU-R BS.468."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from shop.bench.audio import amplifier, distortion, quasi_peak, signals, stepped
from tests.published.checks import C, Check, M, P

TABLE = "ITU-R BS.468-4, table of the network, read second-hand"
BURSTS = "ITU-R BS.468-4, tables of 5 kHz bursts, from memory"
LEVELS = "definitions: 0.7746 V, 1 V, 1 mW"
RATE = 48_000


@cache
def burst(milliseconds: float, a_second: float = 0.0) -> float:
    """The reading of 5 kHz bursts behind the network, in percent of the steady tone."""
    place = np.arange(2 * RATE) / RATE
    inside = (place % (1 / a_second) if a_second else place) < milliseconds / 1000
    steady, broken = (
        quasi_peak.weighted_468(tone, RATE)
        for tone in (
            np.sin(2 * math.pi * 5000 * place),
            inside * np.sin(2 * math.pi * 5000 * place),
        )
    )
    return 100 * quasi_peak.quasi_peak(broken, RATE) / quasi_peak.quasi_peak(steady, RATE)


def _weighting(hertz: float) -> float:
    return 20 * math.log10(float(quasi_peak.weighting_468(np.array([hertz]))[0]))


def _level(value: float, unit: str, key: str, ohms: float = 600.0) -> float:
    return getattr(amplifier.level_units(value, unit, ohms), key)


@cache
def clipping(stated: float) -> amplifier.DistortionPower:
    """An amplifier that clips at 40 V, read at many drives."""
    readings = []
    for clip in (99.9, 99.5, 99, 98.5, 98, 97.5, 97.2, 97, 96.5, 96, 95, 90, 85, 80, 78, 77, 75):
        found = distortion.clipped_sine(clip)
        readings.append((40 / (clip / 100) * math.sqrt(found.mean_square), found.thd_f_percent))
    volts, thd = zip(*sorted(readings), strict=True)
    return amplifier.distortion_power(volts, thd, 8, stated)


@cache
def rising() -> stepped.Stepped:
    """A tone in steps up to a peak of 0.7 through y = x - x^3/3."""
    made = signals.signal("steps", level_decibels=20 * math.log10(0.7))
    return stepped.stepped_of(made - made**3 / 3, RATE)


def _clipped_watts(clip: float) -> float:
    """Into 8 ohm, of a sine that would reach 40 V / clip and is clipped at 40 V."""
    wave = np.clip(
        40 / clip * np.sin(np.linspace(0, 2 * math.pi, 1_000_000, endpoint=False)), -40, 40
    )
    return float(np.mean(wave**2)) / 8


CHECKS = [
    Check("steps", "y = x - x^3/3, third harmonic to all at a peak of 0.7, %", "cos^3 = (3 cos + cos 3)/4", C, 100 * math.sin(math.atan(0.49 / 12 / (1 - 0.49 / 4))), lambda: rising().thd_n_percent[-1], 1e-3),
    *(
        Check("BS.468", f"network at {hz:g} Hz, dB", TABLE, P, db, lambda hz=hz: _weighting(hz), at_most=0.1)
        for hz, db in (
            (31.5, -29.9), (63, -23.9), (100, -19.8), (200, -13.8), (400, -7.8), (800, -1.9), (1000, 0.0), (2000, 5.6), (3150, 9.0), (4000, 10.5),
            (5000, 11.7), (6300, 12.2), (7100, 12.0), (8000, 11.4), (9000, 10.1), (10_000, 8.1), (12_500, 0.0), (14_000, -5.3), (16_000, -11.7), (20_000, -22.2), (31_500, -42.7),
        )
    ),
    *(
        Check("BS.468", f"one burst of {ms:g} ms, %", BURSTS, M, want, lambda ms=ms: burst(ms), 0.06)
        for ms, want in ((1, 17.0), (2, 26.6), (5, 40.0), (10, 48.0), (20, 52.0), (50, 59.0), (100, 68.0), (200, 80.0))
    ),
    *(
        Check("BS.468", f"bursts of 5 ms, {n:g} a second, %", BURSTS, M, want, lambda n=n: burst(5, n), 0.04)
        for n, want in ((2, 48.0), (10, 77.0), (100, 97.0))
    ),
    Check("level", "0 dBu, V", LEVELS, M, 0.77460, lambda: _level(0, "dBu", "rms_volts"), 1e-5),
    Check("level", "+4 dBu, V", "studio level, 1.228 V, common practice", M, 1.228, lambda: _level(4, "dBu", "rms_volts"), 3e-4),
    Check("level", "-10 dBV, V", "home level, 0.316 V, common practice", M, 0.316, lambda: _level(-10, "dBV", "rms_volts"), 1e-3),
    Check("level", "-10 dBV, dBu", LEVELS, M, -7.78, lambda: _level(-10, "dBV", "level_dbu"), 1e-3),
    Check("level", "0 dBV, dBu", LEVELS, M, 2.218, lambda: _level(0, "dBV", "level_dbu"), 1e-3),
    Check("level", "0 dBm into 50 ohm, mV", LEVELS, M, 223.6, lambda: 1000 * _level(0, "dBm", "rms_volts", 50), 1e-3),
    Check("level", "1 W into 8 ohm, V", LEVELS, C, 2.8284, lambda: _level(1000, "mW", "rms_volts", 8), 1e-4),
    Check("level", "2.83 V into 8 ohm, dBm", LEVELS, C, 30.0, lambda: _level(2.8284, "V", "level_dbm", 8), 1e-4),
    Check("gain", "1 V to 28.28 V, dB", "20 log10", C, 29.03, lambda: amplifier.gain(1000, 28.284).gain_decibels, 1e-3),
    Check("gain", "that amplifier to 50 W into 8 ohm, sensitivity, mV", "sqrt(P R) / gain", C, 707.1, lambda: amplifier.gain(1000, 28.284, 50).sensitivity_millivolts, 1e-4),
    *(
        Check("power", f"clips at 40 V, {thd:g} %, W", "clip level of W7.6, mean square by quadrature", C, watts, lambda thd=thd: clipping(thd).watts, 2e-3)
        for thd, watts in (
            (1.0, _clipped_watts(0.97149)),
            (10.0, _clipped_watts(0.77865)),
        )
    ),
    Check("power", "10 % over 1 %, dB", "closed form of the clipped sine: W7.6, mean square by quadrature", C,
          10 * math.log10(_clipped_watts(0.77865) / _clipped_watts(0.97149)),
          lambda: 10 * math.log10(clipping(10).watts / clipping(1).watts), 5e-3),
    Check("slew", "40 V peak at 20 kHz, V/us", "2 pi f V", C, 5.0265, lambda: amplifier.slew_rate(40 / math.sqrt(2)).needed_volts_per_microsecond, 1e-4),
    Check("slew", "0.5 V/us at 10 V peak, full power to, Hz", "operational amplifier data sheets, 8 kHz, from memory", M, 7958.0,
          lambda: amplifier.slew_rate(10 / math.sqrt(2), rise_volts=0.5, rise_microseconds=1).full_power_hertz, 1e-4),
    Check("slew", "13 V/us at 13 V peak, full power to, Hz", "f = SR / (2 pi V)", C, 159_155.0,
          lambda: amplifier.slew_rate(13 / math.sqrt(2), rise_volts=13, rise_microseconds=1).full_power_hertz, 1e-5),
]  # fmt: skip
