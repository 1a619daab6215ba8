"""Closed forms of distortion: what clipping and other plain shapes measure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import scipy

from shop.bench.inputs import one_of, within

Shape = Literal["square", "triangle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clipping:
    """A sine clipped at a share of its peak."""

    thd_f_percent: float
    thd_r_percent: float
    fundamental: float
    mean_square: float
    overdrive_decibels: float


def clipped_sine(clip_percent: float) -> Clipping:
    """Return the distortion of a sine of peak 1 that is clipped, both halves alike.

    clip_percent 1..100 % of the peak that it would reach.
    Formula: a = asin c; a1 = (2/pi)(a + c sqrt(1-c^2)); ms = (2/pi)(a/2 - sin 2a/4 + c^2 (pi/2 - a)).
    Caution: NOTICE. THD by the fundamental (F) and by the total (R) differ above 10 %: say which.
    Source: closed form of the clipped sine (W7.5 to W7.7).
    """
    c = within("clip_percent", clip_percent, 1, 100, "%") / 100
    angle = math.asin(c)
    first = 2 / math.pi * (angle + c * math.sqrt(max(0.0, 1 - c * c)))
    square = 2 / math.pi * (angle / 2 - math.sin(2 * angle) / 4 + c * c * (math.pi / 2 - angle))
    by_f = math.sqrt(max(0.0, square - first**2 / 2)) / (first / math.sqrt(2))
    return Clipping(
        thd_f_percent=by_f * 100,
        thd_r_percent=thd_r_of(by_f) * 100,
        fundamental=first,
        mean_square=square,
        overdrive_decibels=-20 * math.log10(c),
    )


@dataclass(frozen=True, slots=True)
class ClipLevel:
    """Where a sine is clipped when it measures a distortion."""

    clip_percent: float
    overdrive_decibels: float


def clip_level(thd_f_percent: float) -> ClipLevel:
    """Return how far a sine is clipped that measures this THD by the fundamental.

    thd_f_percent 0.0001..40 %.
    Formula: the closed form of the clipped sine, solved for the level.
    Caution: NOTICE. Only where clipping alone distorts, and both halves alike.
    Source: W7.6.
    """
    wanted = within("thd_f_percent", thd_f_percent, 1e-4, 40, "%")
    level = scipy.optimize.brentq(
        lambda c: clipped_sine(c).thd_f_percent - wanted, 5.0, 100.0, xtol=1e-10
    )
    return ClipLevel(float(level), -20 * math.log10(level / 100))


@dataclass(frozen=True, slots=True)
class Thd:
    """One distortion in both definitions."""

    thd_f_percent: float
    thd_r_percent: float
    thd_f_decibels: float | None


def thd_of_shape(shape: Shape) -> Thd:
    """Return the distortion of an ideal square or triangle wave, infinite bandwidth.

    Formula: square sqrt(pi^2/8 - 1), triangle sqrt(pi^4/96 - 1); THD_R = THD_F / sqrt(1 + THD_F^2).
    Caution: NOTICE. Any real meter stops at its bandwidth and shows less.
    Source: published derivations (W7.1, W7.2).
    """
    one_of("shape", shape, ("square", "triangle"))
    inside = math.pi**2 / 8 if shape == "square" else math.pi**4 / 96
    return _thd(math.sqrt(inside - 1))


def thd_by_total(thd_f_percent: float) -> Thd:
    """Return THD by the total (R), as a notch analyser reads it, from THD by the fundamental (F).

    thd_f_percent 0..1000 %.
    Formula: THD_R = THD_F / sqrt(1 + THD_F^2).
    Caution: NOTICE. A notch analyser adds the noise as well.
    Source: definition and algebra (W7.1, W7.2).
    """
    return _thd(within("thd_f_percent", thd_f_percent, 0, 1000, "%") / 100)


def thd_r_of(by_fundamental: float) -> float:
    """Return THD by the total from THD by the fundamental, both as ratios."""
    return by_fundamental / math.sqrt(1 + by_fundamental**2)


def _thd(by_f: float) -> Thd:
    level = 20 * math.log10(by_f) if by_f else None
    return Thd(by_f * 100, thd_r_of(by_f) * 100, level)


@dataclass(frozen=True, slots=True)
class Sidebands:
    """Two sidebands of an intermodulation test in both customs."""

    rss_percent: float
    modulation_index_percent: float


def sidebands(lower_percent: float, upper_percent: float) -> Sidebands:
    """Return what two sidebands of a tone make: as root of squares, and as modulation index.

    Both 0..100 % of the tone.
    Formula: rss = sqrt(a^2 + b^2); index = a + b.
    Caution: NOTICE. The two customs differ by sqrt(2) for equal sidebands: say which.
    Source: SMPTE RP 120 as told in analyser notes (W7.12).
    """
    low = within("lower_percent", lower_percent, 0, 100, "%")
    high = within("upper_percent", upper_percent, 0, 100, "%")
    return Sidebands(math.hypot(low, high), low + high)
