"""Geometry of charts: numbers in, places on a drawing out. Templates draw, style sheets colour."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps values from `low`..`high` to places from `start` to `end` on the drawing."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value, kept within the drawing."""
        if self.high <= self.low:
            return self.start
        share = min(max((value - self.low) / (self.high - self.low), 0.0), 1.0)
        return round(self.start + share * (self.end - self.start), 2)

    def ticks(self, most: int = 5) -> list[tuple[float, float]]:
        """Return (value, place) of round values, at most about so many."""
        span = self.high - self.low
        if span <= 0:
            return [(self.low, self.start)]
        step = _round_up(span / most)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [(n * step, self.at(n * step)) for n in range(first, last + 1)]


def _round_up(step: float) -> float:
    """Return the next of 1, 2, 5 times a power of ten."""
    power: float = 10.0 ** math.floor(math.log10(step))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= step - 1e-12)


def polyline(xs: Sequence[float], ys: Sequence[float]) -> str:
    """Return the points of an SVG polyline."""
    return " ".join(f"{x:g},{y:g}" for x, y in zip(xs, ys, strict=True))


def percent(share: float) -> str:
    """Return '20 %' for 0.2."""
    return f"{share * 100:.0f} %"
