"""Intermodulation: recordings of two tones through a known curve, and of a known modulation."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from shop.bench.audio import intermodulation as im
from tests.published.checks import C, Check, M

SERIES = "IEC 60268-3 definitions on the power series y = x + a x^2 + b x^3, product formulas of the cosine"
INDEX = "SMPTE RP 120: an amplitude modulation of m reads m, from memory"
RATE = 96_000
SLOW, FAST = 0.4, 0.1  # 4:1
EVEN = 0.25
A, B = 0.05, 0.03


@cache
def through(
    low: float, high: float, one: float, two: float, a: float, b: float
) -> im.Intermodulation:
    """Two tones after a curve with a square and a cubic part."""
    place = np.arange(3 * RATE) / RATE
    x = one * np.cos(2 * math.pi * low * place) + two * np.cos(2 * math.pi * high * place + 0.7)
    return im.intermodulation_of(x + a * x**2 + b * x**3, RATE, bandwidth_hertz=24_000)


@cache
def modulated(percent: float) -> im.Intermodulation:
    place = np.arange(3 * RATE) / RATE
    slow = np.cos(2 * math.pi * 60 * place)
    fast = np.cos(2 * math.pi * 7000 * place) * (
        1 + percent / 100 * np.sin(2 * math.pi * 60 * place)
    )
    return im.intermodulation_of(SLOW * slow + FAST * fast, RATE)


def _smpte(low: float = 60.0, high: float = 7000.0) -> im.Intermodulation:
    return through(low, high, SLOW, FAST, A, B)


def _first(one: float, two: float, b: float = B) -> float:
    """The tone of amplitude `one` after the cubic part, beside one of `two`."""
    return one + b * (0.75 * one**3 + 1.5 * one * two**2)


FAST_OUT = _first(FAST, SLOW)
EVEN_OUT = _first(EVEN, EVEN)
D2 = 100 * 2 * A * SLOW * FAST / FAST_OUT
D3 = 100 * 1.5 * B * SLOW**2 * FAST / FAST_OUT
CHECKS = [
    Check("IMD", "60 Hz and 7 kHz, 4:1, d2, %", SERIES, C, D2, lambda: _smpte().order_2_percent, 1e-6),
    Check("IMD", "60 Hz and 7 kHz, 4:1, d3, %", SERIES, C, D3, lambda: _smpte().order_3_percent, 1e-6),
    Check("IMD", "60 Hz and 7 kHz, 4:1, total, %", SERIES, C, math.hypot(D2, D3), lambda: _smpte().intermodulation_percent, 1e-6),
    Check("IMD", "250 Hz and 8 kHz, 4:1, d2, %", SERIES, C, D2, lambda: _smpte(250, 8000).order_2_percent, 1e-6),
    Check("IMD", "41 Hz and 7993 Hz, 4:1, total, %", SERIES, C, math.hypot(D2, D3), lambda: _smpte(41, 7993).intermodulation_percent, 1e-6),
    Check("IMD", "ratio of the tones, square part alone", "as made", C, 4.0, lambda: through(60, 7000, SLOW, FAST, A, 0).level_ratio, 1e-9),
    *(
        Check("IMD", f"{low:g} and {high:g} Hz, {what}, %", SERIES, C, want, lambda low=low, high=high, key=key: getattr(through(low, high, EVEN, EVEN, A, B), key), 1e-6)
        for low, high in ((18_000, 20_000), (19_000, 20_000), (14_000, 15_000))
        for what, key, want in (
            ("difference d2", "order_2_percent", 100 * A * EVEN**2 / (2 * EVEN_OUT)),
            ("difference d3", "order_3_percent", 100 * 1.5 * B * EVEN**3 / (2 * EVEN_OUT)),
            ("AES17 total", "intermodulation_percent", 100 * math.sqrt((A * EVEN**2) ** 2 + 2 * (0.75 * B * EVEN**3) ** 2) / (math.sqrt(2) * EVEN_OUT)),
        )
    ),
    *(Check("IMD", f"amplitude modulation of {m:g} %, total, %", INDEX, M, m, lambda m=m: modulated(m).intermodulation_percent, 1e-6) for m in (0.01, 0.1, 1.0, 10.0)),
]  # fmt: skip
