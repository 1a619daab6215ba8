"""Preferred values of resistors and capacitors (IEC 60063)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, within

Series = Literal["E3", "E6", "E12", "E24", "E48", "E96", "E192"]

E24 = (
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0,
    3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1,
)  # fmt: skip
E12, E6, E3 = E24[::2], E24[::4], E24[::8]


def _rounded(count: int) -> tuple[float, ...]:
    return tuple(round(10 ** (place / count), 2) for place in range(count))


# The one exception of the standard: 9.20 where rounding gives 9.19.
E192 = tuple(9.2 if value == 9.19 else value for value in _rounded(192))
E96, E48 = E192[::2], E192[::4]

SERIES: dict[str, tuple[float, ...]] = {
    "E3": E3, "E6": E6, "E12": E12, "E24": E24, "E48": E48, "E96": E96, "E192": E192,
}  # fmt: skip
TOLERANCE_PERCENT = {
    "E3": 40.0, "E6": 20.0, "E12": 10.0, "E24": 5.0, "E48": 2.0, "E96": 1.0, "E192": 0.5,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferred:
    """The neighbours of a value in a series, the nearest of them by ratio, and its band."""

    below: float
    above: float
    nearest: float
    off_percent: float
    lowest: float
    highest: float


def preferred_value(
    value: float, series: Series = "E12", tolerance_percent: float | None = None
) -> Preferred:
    """Return the preferred values about a wanted one, and what tolerance makes of the nearest.

    value 1e-15..1e15 in any unit; tolerance 0..50 %, the customary one of the series unless given.
    ValueError with a sentence.
    Formula: E3 to E24 by table; E48 to E192 are 10^(n/N) rounded to three figures (9.20 for 9.19).
    Caution: NOTICE. A measured part may lie anywhere in its band; match by meter, not by colour.
    Source: IEC 60063, series read on public pages; a published band for 27 ohm 10 % (W4.9).
    """
    within("value", value, 1e-15, 1e15, "")
    one_of("series", series, tuple(SERIES))
    usual = TOLERANCE_PERCENT[series] if tolerance_percent is None else tolerance_percent
    share = within("tolerance_percent", usual, 0, 50, "%") / 100
    above, below = at_least(value, series), at_most(value, series)
    nearest = below if value / below <= above / value else above
    off = (nearest / value - 1) * 100
    return Preferred(
        below=below,
        above=above,
        nearest=nearest,
        off_percent=off,
        lowest=nearest * (1 - share),
        highest=nearest * (1 + share),
    )


def at_least(value: float, series: str = "E6") -> float:
    """Return the smallest value of a series that is not below `value` (> 0, any unit)."""
    return next(step for step in _around(value, series) if step >= value * (1 - 1e-9))


def at_most(value: float, series: str = "E6") -> float:
    """Return the largest value of a series that is not above `value` (> 0, any unit)."""
    return next(s for s in reversed(_around(value, series)) if s <= value * (1 + 1e-9))


def _around(value: float, series: str) -> list[float]:
    if not value > 0 or not math.isfinite(value):
        raise ValueError(f"value is {value!r}; it must be a number above 0.")
    decade = math.floor(math.log10(value))
    # Divided rather than multiplied below 1: 6.8 / 10 is the very float that people type.
    return [
        step * 10.0**power if power >= 0 else step / 10.0**-power
        for power in (decade - 1, decade, decade + 1)
        for step in SERIES[series]
    ]
