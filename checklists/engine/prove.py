"""Proves properties of a pack over every possible unit, or finds one that slips through."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import Any

from checklists.engine.claims import Claim
from checklists.engine.derive import derive
from checklists.engine.history import NOTHING_YET, Event, History
from checklists.engine.pack import Pack, Reading, Rule, RuleLimit, Step
from checklists.engine.properties import Property
from checklists.engine.smt import z3
from checklists.engine.solver import Model, NotTranslated
from checklists.engine.vocabulary import Facts
from checklists.engine.words import GATES

_TIMEOUT_MS = 20_000
_ONE_AT_A_TIME = threading.Lock()
_NOT_TO_BE_CHANGED = ("job.stage", "job.power", "job.cover", "shop.practice", "shop.mains_volts")
_TOUCHED = History.of([Event(sequence=1, event_type="cover_removed")])


class Verdict(StrEnum):
    """How a property came out."""

    PROVED = "proved"
    REFUTED = "refuted"
    OPEN = "not proved"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """How a property came out; `facts` is the unit that slips through, for `checklist`."""

    id: str
    verdict: Verdict
    says: str
    why: str = ""
    facts: Facts | None = None
    touched: bool = False
    # What happens to that unit, for `rules replay`.
    events: tuple[dict[str, Any], ...] = ()


class Prover:
    """Asks the solver about one pack."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        self.model = Model(pack)
        self._bounds = self.model.unit.bounds()

    def check(self, wanted: Property) -> Proof:
        """Prove or refute one property; a construction that is not known leaves it open."""
        try:
            premise = wanted.premise.formula(self.model)
            counterexample = z3.And(premise, z3.Not(wanted.claim.formula(self.model)))
        except NotTranslated as error:
            return _not_translated(wanted.id, wanted.says, error)
        return self._search(wanted.id, wanted.says, counterexample, wanted.claim)

    def structure(self) -> Iterator[Proof]:
        """Yield what every pack must show: live rules, reachable holds, limits that can be met."""
        for rule in self.pack.rules:
            says = f"Some unit is hit by rule {rule.id}."
            yield self._exists(f"live/{rule.id}", says, partial(self._hit, rule))
        for key, step in self.pack.steps.items():
            if step.hold:
                says = f"Some unit has {key} as a hold."
                yield self._exists(f"reachable/{key}", says, partial(self._held_anywhere, key))
        for step in self.pack.steps.values():
            for reading in step.readings:
                if self._both_ends(step, reading):
                    yield self._limits_can_be_met(step, reading)

    def _hit(self, rule: Rule) -> Any:
        return self.model.rule(rule).true

    def _held_anywhere(self, key: str) -> Any:
        return z3.Or(*(self.model.held(key, gate) for gate in GATES))

    def _both_ends(self, step: Step, reading: Reading) -> bool:
        """Whether limits at both ends exist at all, so that they could cross."""
        ends: list[Reading | RuleLimit] = [reading]
        for rule in self.pack.rules:
            ends += [e for e in rule.limits if (e.step, e.quantity) == (step.key, reading.quantity)]
        return any(end.low for end in ends) and any(end.high for end in ends)

    def _limits_can_be_met(self, step: Step, reading: Reading) -> Proof:
        name = f"limits/{step.key}/{reading.quantity}"
        says = f"No unit has contradictory limits on {step.key}, {reading.quantity}."
        try:
            lows = self.model.limits(step, reading, "low")
            highs = self.model.limits(step, reading, "high")
            listed = self.model.listed(step.key)
        except NotTranslated as error:
            return _not_translated(name, says, error)
        crossing = [z3.And(a, b, low > high) for a, low in lows for b, high in highs]
        return self._search(name, says, z3.And(listed, z3.Or(*crossing)))

    def _exists(self, name: str, says: str, formula: Callable[[], Any]) -> Proof:
        try:
            answer = self._solver(formula()).check()
        except NotTranslated as error:
            return _not_translated(name, says, error)
        if answer == z3.sat:
            return Proof(id=name, verdict=Verdict.PROVED, says=says)
        if answer == z3.unsat:
            return Proof(id=name, verdict=Verdict.REFUTED, says=says, why="no unit does")
        return Proof(id=name, verdict=Verdict.OPEN, says=says, why="no answer")

    def _solver(self, formula: Any) -> Any:
        solver = z3.Solver()
        solver.set("timeout", _TIMEOUT_MS)
        solver.add(*self._bounds, formula)
        return solver

    def follows(self, name: str, says: str, premise: Any, conclusion: Any) -> Proof:
        """Return whether every unit of the premise is one of the conclusion, both as formulas."""
        return self._search(name, says, z3.And(premise, z3.Not(conclusion)))

    def _search(
        self, name: str, says: str, counterexample: Any, claim: Claim | None = None
    ) -> Proof:
        """Return whether no unit fits the counterexample; one that does is run by the engine."""
        solver = self._solver(counterexample)
        answer = solver.check()
        if answer == z3.unsat:
            return Proof(id=name, verdict=Verdict.PROVED, says=says)
        if answer != z3.sat:
            why = "the solver gave no answer in time"
            return Proof(id=name, verdict=Verdict.OPEN, says=says, why=why)
        facts, touched = self._smallest(counterexample, solver.model())
        verdict, why = Verdict.REFUTED, "this unit slips through"
        if claim is not None and self._engine_keeps(claim, facts, touched=touched):
            verdict, why = Verdict.OPEN, "the engine does not share the counterexample"
        return Proof(id=name, verdict=verdict, says=says, why=why, facts=facts, touched=touched)

    def _smallest(self, counterexample: Any, first: Any) -> tuple[Facts, bool]:
        """Return the counterexample with the fewest facts that the solver finds in time."""
        optimum = z3.Optimize()
        optimum.set("timeout", _TIMEOUT_MS)
        optimum.add(*self._bounds, counterexample)
        unit = self.model.unit
        for known in unit.known.values():
            optimum.add_soft(z3.Not(known))
        for words in unit.words.values():
            for has in words.values():
                optimum.add_soft(z3.Not(has), "0.1")
        optimum.add_soft(z3.Not(unit.touched))
        solution = optimum.model() if optimum.check() == z3.sat else first
        touched = z3.is_true(solution.eval(unit.touched, model_completion=True))
        return unit.facts_of(solution), touched

    def _engine_keeps(self, claim: Claim, facts: Facts, *, touched: bool) -> bool:
        return claim.kept_by(derive(self.pack, facts, _TOUCHED if touched else NOTHING_YET))


def _not_translated(name: str, says: str, error: NotTranslated) -> Proof:
    return Proof(id=name, verdict=Verdict.OPEN, says=says, why=f"not translated: {error}")


def smallest_change(
    pack: Pack, facts: Facts, step: str, *, timeout_ms: int = _TIMEOUT_MS
) -> Facts | None:
    """Return the fewest facts to record or change so that a rule plainly requires the step.

    None when nothing would bring it, or when the solver has no answer in time. NotTranslated
    when a rule of the step is not known to the model. The job's stage, power and
    cover and the practice of the shop stay as they are.
    """
    # The solver's library keeps one state per process: pages ask from several threads. Its
    # objects must also be gone before the lock is, so an error leaves here as a new one.
    with _ONE_AT_A_TIME:
        try:
            return _smallest_change(pack, facts, step, timeout_ms)
        except NotTranslated as error:
            reason = str(error)
    raise NotTranslated(reason)


def _smallest_change(pack: Pack, facts: Facts, step: str, timeout_ms: int) -> Facts | None:
    model = Model(pack)
    optimum = z3.Optimize()
    optimum.set("timeout", timeout_ms)
    asking = [rule for rule in pack.rules if step in rule.require]
    optimum.add(*model.unit.bounds(), z3.Or(*(model.rule(rule).true for rule in asking)))
    kept_as_is = {name: facts[name] for name in _NOT_TO_BE_CHANGED if name in facts}
    for variable, value in model.unit.assignments(facts):
        optimum.add_soft(variable == value)
    for variable, value in model.unit.assignments(kept_as_is, names=_NOT_TO_BE_CHANGED):
        optimum.add(variable == value)
    if optimum.check() != z3.sat:
        return None
    changed = model.unit.facts_of(optimum.model())
    return {name: value for name, value in changed.items() if facts.get(name) != value}
