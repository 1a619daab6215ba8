"""Equalisation, heads, level and bias of records and tape."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from scipy import signal

from shop.bench.audio import equalisation, tape
from shop.bench.audio.wav import Recording
from tests.published.checks import C, Check, M

RIAA = "RIAA playback table, dB to 1 kHz, as reference works print it, from memory"
AMENDED = "IEC 60098 amendment of 1976: RIAA less 10 log10(1 + (20.02 / f)^2)"
ANALOGUE = "scipy.signal.freqs of the time constants (IEC 60094-1, from memory)"
SINC = "sin(x) / x"
SCOPE = "geometry: v t / d"
RATE = 48_000


def _freqs(zeros: tuple[float, ...], poles: tuple[float, ...], hertz: float) -> float:
    """The playback gain by another library: zeros and poles in s, one of infinity at 0 Hz."""
    b, a = np.poly1d([1.0]), np.poly1d([1.0])
    for t in zeros:
        b *= np.poly1d([t, 1.0])
    for t in poles:
        a *= np.poly1d([1.0, 0.0]) if math.isinf(t) else np.poly1d([t, 1.0])
    _, h = signal.freqs(b.coeffs, a.coeffs, worN=2 * math.pi * np.array([hertz, 1000.0]))
    return float(20 * np.log10(abs(h[0]) / abs(h[1])))


def _play(curve: str, hertz: float) -> float:
    return equalisation.equalisation(curve, hertz).playback_decibels


@cache
def _tracks(degrees: float, hertz: float = 10_000.0) -> tape.Azimuth:
    turn = 2 * math.pi * hertz * np.arange(4 * RATE) / RATE
    pair = np.column_stack([np.sin(turn), np.sin(turn - math.radians(degrees))])
    return tape.azimuth_of(Recording(0.3 * pair, RATE))


def _parabola(over: float) -> tape.TapeBias:
    bias = [80.0, 90.0, 95.0, 105.0, 110.0, 115.0, 120.0, 125.0, 130.0]
    return tape.tape_bias(bias, [-((b - 100) ** 2) / 100 for b in bias], over)


CHECKS = [
    *(
        Check("RIAA", f"playback at {hz:g} Hz, dB", RIAA, M, db, lambda hz=hz: _play("riaa", hz), at_most=0.0006)
        for hz, db in (
            (20, 19.274), (30, 18.593), (50, 16.946), (100, 13.088), (200, 8.219), (500, 2.648), (2000, -2.589), (5000, -8.210),
            (10_000, -13.734), (20_000, -19.620),
        )
    ),
    *(
        Check("RIAA", f"playback at {hz:g} Hz, one place, dB", RIAA, M, db, lambda hz=hz: _play("riaa", hz), at_most=0.06)
        for hz, db in (
            (40, 17.8), (80, 14.5), (150, 10.3), (300, 5.5), (400, 3.8), (800, 0.7), (1500, -1.4), (3000, -4.7), (4000, -6.6),
            (6000, -9.6), (8000, -11.9), (15_000, -17.2),
        )
    ),
    *(
        Check("RIAA", f"amended of 1976, at {hz:g} Hz, dB", AMENDED, C, db, lambda hz=hz: _play("riaa-iec", hz), at_most=0.01)
        for hz, db in ((20, 16.26), (50, 16.30), (100, 12.92))
    ),
    Check("RIAA", "recorded velocity at 10 kHz, dB", RIAA, M, 13.734, lambda: equalisation.equalisation("riaa", 10_000).recorded_decibels, at_most=0.0006),
    *(
        Check("tape", f"{name}, playback at {hz:g} Hz, dB", ANALOGUE, C, _freqs(zeros, poles, hz), lambda name=name, hz=hz: _play(name, hz), 1e-9)
        for name, zeros, poles in (
            ("tape-4.76-120", (120e-6,), (3180e-6,)), ("tape-4.76-70", (70e-6,), (3180e-6,)), ("tape-9.5", (90e-6,), (3180e-6,)),
            ("tape-19-iec", (70e-6,), (math.inf,)), ("tape-38-iec", (35e-6,), (math.inf,)), ("tape-38-nab", (50e-6,), (3180e-6,)),
        )
        for hz in (40.0, 10_000.0)
    ),
    Check("tape", "cassette 70 us against 120 us, treble, dB", "20 log10(120 / 70)", C, 4.682,
          lambda: _play("tape-4.76-120", 1e5) - _play("tape-4.76-70", 1e5) - (_play("tape-4.76-120", 1) - _play("tape-4.76-70", 1)), 1e-3),
    *(Check("azimuth", f"recorded, {p:g} degrees late", "as made", C, p, lambda p=p: _tracks(p).phase_degrees, 1e-6) for p in (10.0, 90.0, -45.0)),
    Check("azimuth", "45 degrees at 10 kHz, delay, us", "45 / 360 / f", C, 12.5, lambda: _tracks(45.0).delay_microseconds, 1e-6),
    Check("azimuth", "12.5 us at 4.76 cm/s and 0.9 mm, minutes of arc", SCOPE, C, math.degrees(math.atan(0.0476 * 12.5e-6 / 0.9e-3)) * 60,
          lambda: tape.azimuth_angle(45, 10_000).tilt_arc_minutes, 1e-9),
    Check("azimuth", "90 degrees: mono loses, dB", "sum of two phasors", C, -3.0103, lambda: tape.azimuth_angle(90, 8000).mono_decibels, 1e-5),
    Check("azimuth", "120 degrees: mono loses, dB", "sum of two phasors", C, -6.0206, lambda: tape.azimuth_angle(120, 8000).mono_decibels, 1e-5),
    Check("head", "wavelength of 10 kHz at 4.76 cm/s, um", "speed / f", C, 4.76, lambda: tape.head_losses(10_000).wavelength_micrometres),
    Check("head", "one wavelength away, dB", "R. L. Wallace 1951: 54.6 dB, from memory", M, -54.6,
          lambda: tape.head_losses(10_000, gap_to_tape_micrometres=4.76).spacing_decibels, 1e-3),
    Check("head", "gap of half a wavelength, dB", SINC, C, 20 * math.log10(2 / math.pi), lambda: tape.head_losses(10_000, gap_micrometres=2.38).gap_decibels, 1e-9),
    Check("head", "gap of 0.443 of a wavelength is 3 dB, dB", "half-power point of sin(x) / x, handbooks, from memory", M, -3.01,
          lambda: tape.head_losses(10_000, gap_micrometres=0.443 * 4.76).gap_decibels, 2e-3),
    Check("head", "0.6 mm, 10 minutes of arc, 10 kHz at 4.76 cm/s, dB", SINC, C,
          20 * math.log10(math.sin(x := math.pi * 600 * math.tan(math.radians(1 / 6)) / 4.76) / x), lambda: tape.head_losses(10_000, tilt_arc_minutes=10, gap_micrometres=0).azimuth_decibels, 1e-9),
    *(
        Check("level", f"{test:g} nWb/m on {wanted:g}, dB", "20 log10, as test tape leaflets round it, from memory", M, db,
              lambda test=test, wanted=wanted: tape.tape_level(test, wanted).test_tape_decibels, at_most=0.06)
        for test, wanted, db in ((320, 250, 2.1), (250, 185, 2.6), (200, 250, -1.9), (370, 185, 6.0), (160, 250, -3.9), (320, 185, 4.8))
    ),
    Check("bias", "peak of a parabola, mV", "as made", C, 100.0, lambda: _parabola(3).peak_millivolts, 1e-9),
    Check("bias", "3 dB past its peak, mV", "100 + sqrt(300)", C, 117.32, lambda: _parabola(3).set_millivolts, 1e-3),
    Check("bias", "1 dB past its peak, mV", "100 + sqrt(100)", C, 110.0, lambda: _parabola(1).set_millivolts, 1e-6),
]  # fmt: skip
