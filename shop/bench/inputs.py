"""Checks on what is typed into a calculation: one sentence that names field, value and range."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from checklists.engine.figures import grouped
from checklists.engine.quoting import quoted

LONGEST_SERIES = 10_000


class Doubtful(ValueError):
    """The numbers are possible but hardly meant; say so with `meant`, and they are taken."""


def within(name: str, value: float, low: float, high: float, unit: str) -> float:
    """Return the value; ValueError when it is no number or lies outside low..high."""
    if not _is_number(value):
        wanted = f"a number of {unit}" if unit else "a number"
        raise ValueError(f"{name} is {quoted(value)}; it must be {wanted}.")
    if not low <= value <= high:
        amount = f"{value:g} {unit}".strip()
        raise ValueError(
            f"{name} is {amount}; it must be {f'from {low:g} to {high:g} {unit}'.strip()}."
        )
    return float(value)


def _is_number(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    # A whole number of four hundred digits has no float; it is no amount either.
    return math.isfinite(value) if isinstance(value, float) else abs(value) < 10**300


def whole(name: str, value: float, low: int, high: int) -> int:
    """Return the whole number; ValueError when it is none or lies outside low..high."""
    number = within(name, value, low, high, "")
    if number != int(number):
        raise ValueError(f"{name} is {value:g}; it must be a whole number.")
    return int(number)


def one_of(name: str, value: str, words: Sequence[str]) -> str:
    """Return the word; ValueError with the list when it is none of them."""
    if value not in words:
        raise ValueError(f"{name} is {quoted(value)}; it must be one of {', '.join(words)}.")
    return value


def series(
    name: str, values: Sequence[float], *, low: float, high: float, unit: str, fewest: int = 1
) -> list[float]:
    """Return the numbers of a series; ValueError when there are too few or one is out of range."""
    if isinstance(values, str) or not isinstance(values, Sequence):
        raise ValueError(f"{name} is {values!r}; it must be a list of numbers of {unit}.")
    if not fewest <= len(values) <= LONGEST_SERIES:
        raise ValueError(
            f"{name} has {len(values)} values; it takes {fewest} to {grouped(LONGEST_SERIES)}."
        )
    return [
        within(f"{name} {place + 1}", value, low, high, unit) for place, value in enumerate(values)
    ]


def same_length(name: str, values: Sequence[object], other: str, others: Sequence[object]) -> None:
    """ValueError when two series that belong together differ in length."""
    if len(values) != len(others):
        raise ValueError(
            f"{name} has {len(values)} values and {other} has {len(others)};"
            " they belong together, one each."
        )


def rising(name: str, values: Sequence[float], unit: str) -> None:
    """ValueError when a series of times does not go forward."""
    for before, after in pairwise(values):
        if after <= before:
            raise ValueError(
                f"{name} goes from {before:g} to {after:g} {unit}; it must go forward."
            )
