"""Preferred values of resistors and capacitors (IEC 60063)."""

from __future__ import annotations

import math

E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)  # IEC 60063, read in a public table


def at_least(value: float) -> float:
    """Return the smallest E6 value that is not below `value` (> 0, any unit)."""
    if not value > 0 or not math.isfinite(value):
        raise ValueError(f"value is {value!r}; it must be a number above 0.")
    decade = math.floor(math.log10(value))
    steps = [round(step * 10.0**power, 12) for power in (decade, decade + 1) for step in E6]
    return next(step for step in steps if step >= value * (1 - 1e-9))
