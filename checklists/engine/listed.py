"""What a step asks of one unit: readings with their limits, answers, and the calculation to run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from checklists.engine.figures import shown
from checklists.engine.vocabulary import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedReading:
    """A reading with the limits that hold for this unit; either end may be open (None)."""

    quantity: str
    title: str
    unit: str
    low: float | None
    high: float | None
    source: str
    required: bool
    signed: bool = False
    # What an instrument measures here, a word of MEASURED; empty: nothing that one measures.
    measures: str = ""

    def admits(self, value: float) -> bool:
        """Tell whether the value passes; a magnitude without its sign. A NaN passes nothing."""
        if not self.signed:
            value = abs(value)
        above = self.low is None or value >= self.low
        below = self.high is None or value <= self.high
        return above and below and value == value

    @property
    def range(self) -> str:
        """The limits in words: 'at most 0.3 ohm'."""
        low = "" if self.low is None else shown(self.low)
        high = "" if self.high is None else shown(self.high)
        if low and high:
            return f"{low} to {high} {self.unit}"
        if high:
            return f"at most {high} {self.unit}"
        return f"at least {low} {self.unit}" if low else "no limit"

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "quantity": self.quantity,
            "unit": self.unit,
            "min": self.low,
            "max": self.high,
            "source": self.source,
            "title": self.title,
            "required": self.required,
            **({"measures": self.measures} if self.measures else {}),
        }


@dataclass(frozen=True, slots=True)
class ListedAnswer:
    """A fact that whoever passes the step has to tell; `one_of` its closed words, if it has any."""

    fact: str
    kind: str
    one_of: tuple[str, ...] = ()
    unit: str = ""

    @classmethod
    def of(cls, fact: Fact) -> ListedAnswer:
        """Return the question for a fact of the vocabulary."""
        return cls(fact.name, fact.kind, fact.words, fact.unit)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; what does not apply is left out."""
        shape = {"fact": self.fact, "kind": self.kind, "one_of": list(self.one_of)}
        return {name: value for name, value in {**shape, "unit": self.unit}.items() if value}


@dataclass(frozen=True, slots=True)
class ListedPlan:
    """A bench calculation to run for this unit; `missing` names facts it still needs."""

    calculation: str
    arguments: tuple[tuple[str, float], ...]
    missing: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form, without the result: the shop computes that."""
        return {
            "calculation": self.calculation,
            "arguments": dict(self.arguments),
            "missing": list(self.missing),
        }
