"""Results in words: what a page shows and a note keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checklists.engine.figures import grouped
from shop.bench.units import spoken, typeset, unit_of

_WORDS = {True: "yes", False: "no", None: "not known"}


@dataclass(frozen=True, slots=True)
class Line:
    """One figure of a result: its name in the code and in words, and the amount with its unit."""

    key: str
    name: str
    amount: str
    value: Any

    @property
    def figure(self) -> str:
        """The amount without its unit."""
        return self.amount.removesuffix(unit_of(self.key)).strip() if self.unit else self.amount

    @property
    def unit(self) -> str:
        """Its unit with its own sign."""
        return typeset(unit_of(self.key)) if _has_unit(self.value) else ""


def lines(result: Mapping[str, Any]) -> list[Line]:
    """Return the figures of a result, in order; lists of reasons are left to their own table."""
    return [
        Line(key, spoken(key), _amount(key, value), value)
        for key, value in result.items()
        if not (isinstance(value, list | tuple) and value and isinstance(value[0], dict))
    ]


def _amount(key: str, value: Any) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_figure(member) for member in value) + (
            f" {unit_of(key)}".rstrip() if value else ""
        )
    figure = _figure(value)
    return f"{figure} {unit_of(key)}".strip() if isinstance(value, float | int) else figure


def _has_unit(value: Any) -> bool:
    """Whether it is a number, or several."""
    first = value[0] if isinstance(value, list | tuple) and value else value
    return isinstance(first, int | float) and not isinstance(first, bool)


def _figure(value: Any) -> str:
    if value is None or isinstance(value, bool):
        return _WORDS[value]
    if not isinstance(value, float):
        return str(value)
    # Three figures, but never in powers of ten while it can be written out.
    return grouped(round(value)) if 1000 <= abs(value) < 1e7 else f"{value:.3g}"


def note(name: str, inputs: Mapping[str, Any], result: Mapping[str, Any]) -> str:
    """Return one paragraph: what was worked out, from what, with which result."""
    given = "; ".join(f"{line.name} {line.amount}" for line in lines(inputs))
    results = "; ".join(f"{line.name} {line.amount}" for line in lines(result))
    return f"{name.replace('-', ' ').capitalize()}: {results}. From {given}."
