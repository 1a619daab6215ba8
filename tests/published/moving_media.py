"""Wow, flutter and speed: test tones whose swing is known."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from shop.bench.audio import flutter
from tests.published.checks import C, Check, M, P

AES6 = "AES6-2008, table of the weighting, read second-hand; 2 sigma of a sine is sin(0.475 pi) of its peak"
GUIDE = "test tones of an analyser maker's guide to AES6, read second-hand"
RATE, SECONDS = 16_000, 40


@cache
def swung(swings: float, percent: float, hertz: float = 3150.0) -> flutter.Flutter:
    """A tone whose frequency swings so often, by so much to each side."""
    place = np.arange(SECONDS * RATE) / RATE
    turn = 2 * math.pi * hertz * place
    turn += hertz * percent / 100 / swings * np.sin(2 * math.pi * swings * place)
    return flutter.flutter_of(0.5 * np.sin(turn), RATE)


CHECKS = [
    *(
        Check("AES6", f"0.1 % at {hz:g} Hz, weighted, %", AES6, P, 0.1 * 10 ** (db / 20) * math.sin(0.475 * math.pi),
              lambda hz=hz: swung(hz, 0.1).weighted_flutter_percent, 6e-3)
        for hz, db in (
            (0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0), (1.0, -4.2), (1.6, -1.8),
            (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1), (20.0, -5.9), (40.0, -10.4), (63.0, -14.2), (100.0, -17.3), (200.0, -23.0),
        )
    ),
    *(
        Check("AES6", f"{peak:g} % at {hz:g} Hz, as the guide has it, %", GUIDE, P, want,
              lambda hz=hz, peak=peak: swung(hz, peak).weighted_flutter_percent, 3e-3)
        for hz, peak, want in ((4.0, 0.01, 0.00997), (4.0, 0.1, 0.0997), (4.0, 1.0, 0.997), (4.0, 10.0, 9.97), (0.8, 0.1, 0.0499), (20.0, 0.1, 0.0506))
    ),
    Check("flutter", "1 % at 10 Hz, r.m.s., %", "peak / sqrt(2)", C, 1 / math.sqrt(2), lambda: swung(10, 1).flutter_rms_percent, 2e-3),
    Check("wow", "1 % at 1 Hz, r.m.s., %", "peak / sqrt(2)", C, 1 / math.sqrt(2), lambda: swung(1, 1).wow_rms_percent, 2e-3),
    Check("flutter", "rate of the strongest swing, 13.7 Hz", "as made", C, 13.7, lambda: swung(13.7, 0.2).rate_hertz, 2e-3),
    Check("speed", "3,000 Hz on a test of 3,150 Hz, %", "arithmetic", C, -100 / 21, lambda: swung(4, 0.1, 3000).speed_error_percent, 2e-5),
    Check("speed", "3 % fast, cents", "1200 log2(1.03)", C, 51.17, lambda: flutter.speed_error(1.03, 1).cents, 1e-3),
    Check("speed", "a semitone, cents", "ISO 16, equal temperament: 2^(1/12)", M, 100.0, lambda: flutter.speed_error(2 ** (1 / 12), 1).cents, 1e-9),
    Check("speed", "33 1/3 for 45 turns, %", "arithmetic", C, -25.926, lambda: flutter.speed_error(100 / 3, 45).speed_error_percent, 1e-4),
]  # fmt: skip
