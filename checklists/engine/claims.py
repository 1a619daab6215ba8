"""What a property can claim of a pack: in the solver's terms, and of one derived checklist.

The two sides of a claim stand beside each other: `formula` is proved over every unit, and
`kept_by` checks a counterexample on the engine itself before it is believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

from checklists.engine import cel
from checklists.engine.checklist import Checklist
from checklists.engine.pack import Step
from checklists.engine.smt import z3
from checklists.engine.solver import Model


@dataclass(frozen=True, slots=True, kw_only=True)
class Premise:
    """Of which units a property speaks; what is None says nothing."""

    certain: cel.Condition | None = None  # plainly true
    possible: cel.Condition | None = None  # not plainly false: true, or not known
    touched: bool | None = None  # opened or worked on earlier, or not at all

    def formula(self, model: Model) -> Any:
        """Return when a unit is one of them; NotTranslated for what the solver cannot say."""
        parts = [z3.BoolVal(val=True)]
        if self.touched is not None:
            parts.append(model.unit.touched if self.touched else z3.Not(model.unit.opened))
        if self.certain is not None:
            parts.append(model.condition(self.certain.tree).true)
        if self.possible is not None:
            parts.append(model.condition(self.possible.tree).possible)
        return z3.And(*parts)


class Claim(Protocol):
    """A claim about the checklist of every unit that a property speaks of."""

    def formula(self, model: Model) -> Any:
        """Return when a unit keeps the claim; NotTranslated for what the solver cannot say."""

    def kept_by(self, checklist: Checklist) -> bool:
        """Tell whether a derived checklist keeps the claim."""


@dataclass(frozen=True, slots=True)
class Holds:
    """Every one of the steps is a hold of the gate."""

    steps: tuple[str, ...]
    gate: str

    def formula(self, model: Model) -> Any:
        """Return when a unit keeps the claim."""
        return z3.And(*(model.held(key, self.gate) for key in self.steps))

    def kept_by(self, checklist: Checklist) -> bool:
        """Tell whether a derived checklist keeps the claim."""
        return set(self.steps) <= {step.key for step in checklist.gate(self.gate)}


@dataclass(frozen=True, slots=True)
class AnyHold:
    """At least one of the steps is a hold of the gate."""

    steps: tuple[str, ...]
    gate: str

    def formula(self, model: Model) -> Any:
        """Return when a unit keeps the claim."""
        return z3.Or(*(model.held(key, self.gate) for key in self.steps))

    def kept_by(self, checklist: Checklist) -> bool:
        """Tell whether a derived checklist keeps the claim."""
        return not {step.key for step in checklist.gate(self.gate)}.isdisjoint(self.steps)


@dataclass(frozen=True, slots=True)
class Listed:
    """Every one of the steps is on the list."""

    steps: tuple[str, ...]

    def formula(self, model: Model) -> Any:
        """Return when a unit keeps the claim."""
        return z3.And(*(model.listed(key) for key in self.steps))

    def kept_by(self, checklist: Checklist) -> bool:
        """Tell whether a derived checklist keeps the claim."""
        return set(self.steps) <= checklist.by_key.keys()


@dataclass(frozen=True, slots=True)
class NotListed:
    """None of the steps is on the list."""

    steps: tuple[str, ...]

    def formula(self, model: Model) -> Any:
        """Return when a unit keeps the claim."""
        return z3.Not(z3.Or(*(model.listed(key) for key in self.steps)))

    def kept_by(self, checklist: Checklist) -> bool:
        """Tell whether a derived checklist keeps the claim."""
        return checklist.by_key.keys().isdisjoint(self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitAtLeast:
    """The step is on the list, and its reading has limits at least as strict as these."""

    step: Step
    quantity: str
    low: float | None = None
    high: float | None = None

    def formula(self, model: Model) -> Any:
        """Return when a unit keeps the claim."""
        [reading] = [r for r in self.step.readings if r.quantity == self.quantity]
        parts = [model.listed(self.step.key)]
        if self.high is not None:
            ends = model.limits(self.step, reading, "high")
            parts.append(z3.Or(*(z3.And(on, value <= self.high) for on, value in ends)))
        if self.low is not None:
            ends = model.limits(self.step, reading, "low")
            parts.append(z3.Or(*(z3.And(on, value >= self.low) for on, value in ends)))
        return z3.And(*parts)

    def kept_by(self, checklist: Checklist) -> bool:
        """Tell whether a derived checklist keeps the claim."""
        listed = checklist.by_key.get(self.step.key)
        if listed is None:
            return False
        [reading] = [r for r in listed.readings if r.quantity == self.quantity]
        below = self.high is None or (reading.high is not None and reading.high <= self.high)
        above = self.low is None or (reading.low is not None and reading.low >= self.low)
        return below and above
