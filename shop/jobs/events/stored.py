"""Reading the data of stored rows, which may hold anything, and telling it in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias

from shop.lib.pack_words import pack_word
from shop.lib.text import plain, spaced

Data: TypeAlias = Mapping[str, Any]
# What code that reads stored data may meet when the data is not what it looks for.
ODD = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError)


def text(data: Data, name: str) -> str:
    """Return a text, or nothing where there is none."""
    value = data.get(name)
    return value if isinstance(value, str) else ""


def needed_text(data: Data, name: str) -> str:
    """Return a text; ValueError where there is none."""
    value = text(data, name)
    if not value:
        raise ValueError(f"{name} is no text")
    return value


def texts(data: Data, name: str) -> list[str]:
    """Return the texts of a list."""
    value = data.get(name)
    return [item for item in value if isinstance(item, str)] if isinstance(value, list) else []


def whole(data: Data, name: str) -> int | None:
    """Return a whole number, or None where there is none."""
    value = data.get(name)
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def number(data: Data, name: str) -> float:
    """Return a number; ValueError where there is none."""
    value = data.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{name} is no number")
    return float(value)


def minutes(data: Data, name: str) -> float:
    """Return minutes; none where there is no number."""
    try:
        return number(data, name)
    except ODD:
        return 0.0


def is_reading(reading: object) -> bool:
    """Whether it has a quantity and a number, as a reading has."""
    if not isinstance(reading, Mapping) or not isinstance(reading.get("quantity"), str):
        return False
    value = reading.get("value")
    return isinstance(value, int | float) and not isinstance(value, bool)


def reading_words(data: Data) -> list[str]:
    """Return a reading as short parts: 'sink celsius 36.2 C', where it is from, and the note."""
    read = (
        f"{pack_word(needed_text(data, 'quantity'))} {number(data, 'value'):g} {text(data, 'unit')}"
    )
    return [read.rstrip(), *filter(None, [text(data, "source"), text(data, "note")])]


def words(data: Data) -> list[str]:
    """Return all that is worth saying, each field by its name."""
    return [f"{spaced(name)}: {plain(value)}" for name, value in data.items() if _worth(value)]


def _worth(value: object) -> bool:
    return value is False or value not in ("", 0, None, [])
