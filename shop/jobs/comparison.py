"""Readings before and after: of each quantity the first and the last, with limit and verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop.jobs import events
from shop.jobs.events.stored import Data
from shop.jobs.ledger import AnyRow


@dataclass(frozen=True)
class Compared:
    """One quantity: what was read first and last; `limit` holds what the last was judged by."""

    quantity: str
    first: Data | None
    last: Data


def first_and_last(rows: Sequence[AnyRow]) -> list[Compared]:
    """Return each quantity once, in the order it was first read; `first` is None when read once."""
    by_quantity: dict[str, list[Data]] = {}
    for reading in (one for row in rows for one in events.measured(row)):
        by_quantity.setdefault(reading["quantity"], []).append(reading)
    return [
        Compared(name, taken[0] if len(taken) > 1 else None, taken[-1])
        for name, taken in by_quantity.items()
    ]


def amount(reading: Data) -> str:
    """Return '4.5 mV'."""
    return f"{reading['value']:g} {reading['unit']}"


def limit(low: float | None, high: float | None, unit: str = "") -> str:
    """Return 'from 1 to 2 V'; empty where nothing limits."""
    ends = [f"{word} {end:g}" for word, end in (("from", low), ("to", high)) if end is not None]
    return " ".join([*ends, unit] if unit else ends)
