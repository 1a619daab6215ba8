"""Checks on what is typed into a calculation: one sentence that names field, value and range."""

from __future__ import annotations

import math


def within(name: str, value: float, low: float, high: float, unit: str) -> float:
    """Return the value; ValueError when it is no number or lies outside low..high."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"{name} is {value!r}; it must be a number of {unit}.")
    if not low <= value <= high:
        raise ValueError(f"{name} is {value:g} {unit}; it must be from {low:g} to {high:g} {unit}.")
    return float(value)


def whole(name: str, value: float, low: int, high: int) -> int:
    """Return the whole number; ValueError when it is none or lies outside low..high."""
    number = within(name, value, low, high, "")
    if number != int(number):
        raise ValueError(f"{name} is {value:g}; it must be a whole number.")
    return int(number)
