"""Proves properties of a pack over every possible unit, or finds one that slips through.

Properties lie in `*.properties.toml`:

    [[property]]
    id = "discharge-before-hands"
    says = "A rail that may exceed 60 V is discharged before hands go in."
    if_possible = 'unit.rail_volts > 60.0'   # or `if`: only when plainly true
    hold = ["discharge-reservoirs"]          # each is a hold ...
    gate = "open-up"                         # ... of this gate

Other claims: `any_hold` with `gate` (at least one), `listed`, `not_listed`, and
`limit = { step, quantity, max }` or `min` (what is in force is at least as strict).
`touched = true` speaks of units that were opened or worked on earlier, `false` of others.
"""

from __future__ import annotations

import threading
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import z3

from checklists.engine import cel
from checklists.engine.checklist import Checklist
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.pack import Pack, Reading, RuleLimit, Step
from checklists.engine.quoting import quoted
from checklists.engine.solver import Model, NotTranslated, Truth
from checklists.engine.vocabulary import Facts
from checklists.engine.words import GATES

PROVED, REFUTED, OPEN = "proved", "refuted", "not proved"
__all__ = [
    "OPEN",
    "PROVED",
    "REFUTED",
    "Finding",
    "NotTranslated",
    "Property",
    "PropertyError",
    "Prover",
    "kept",
    "read",
    "smallest_change",
]
_KEYS = {
    "id", "says", "if", "if_possible", "hold", "any_hold", "gate", "listed", "not_listed",
    "limit", "touched",
}  # fmt: skip
_TIMEOUT_MS = 20_000
_ONE_AT_A_TIME = threading.Lock()
_NOT_TO_BE_CHANGED = ("job.stage", "job.power", "job.cover", "shop.practice")
_TOUCHED = History.of([Event(sequence=1, event_type="cover_removed")])


class PropertyError(ValueError):
    """A property that cannot be read; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Property:
    """A claim about a pack, as written."""

    id: str
    says: str
    claim: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Finding:
    """How a property came out; `facts` is the unit that slips through, for `checklist`."""

    id: str
    verdict: str
    says: str
    why: str = ""
    facts: Facts | None = None
    touched: bool = False


def read(folder: Path, pack: Pack) -> list[Property]:
    """Read the properties beside a pack; PropertyError names what is wrong."""
    found: list[Property] = []
    for file in sorted(folder.glob("*.properties.toml")):
        content = tomllib.loads(file.read_text(encoding="utf-8"))
        for table in content.get("property", []):
            found.append(_property(table, pack, file.name))
    names = [p.id for p in found]
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise PropertyError(f"Properties are there twice: {', '.join(sorted(twice))}.")
    return found


def _property(table: Mapping[str, Any], pack: Pack, file: str) -> Property:
    label = f"{file}: property {table.get('id', '(unnamed)')}"
    for stray in sorted(table.keys() - _KEYS):
        raise PropertyError(f"{label}: {stray} is not known; use {', '.join(sorted(_KEYS))}.")
    for name in ("id", "says"):
        if name not in table:
            raise PropertyError(f"{label}: {name} is missing.")
    claims = [
        name for name in ("hold", "any_hold", "listed", "not_listed", "limit") if name in table
    ]
    if len(claims) != 1:
        raise PropertyError(f"{label}: make one claim, not {len(claims)}.")
    if claims[0] in ("hold", "any_hold") and table.get("gate") not in GATES:
        raise PropertyError(f"{label}: gate is {quoted(table.get('gate'))}; it must be a gate.")
    named = [table["limit"]["step"]] if claims[0] == "limit" else table[claims[0]]
    for key in named:
        if key not in pack.steps:
            raise PropertyError(f"{label}: {key} is no step of the pack.")
    for name in ("if", "if_possible"):
        if name in table:
            _compile(label, table[name])
    return Property(table["id"], table["says"], table)


def _compile(label: str, source: str) -> None:
    try:
        cel.condition(source)
    except cel.ConditionError as error:
        raise PropertyError(f"{label}: {error}") from None


class Prover:
    """Asks the solver about one pack."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        self.model = Model(pack)
        self._bounds = self.model.unit.bounds()

    def check(self, wanted: Property) -> Finding:
        """Prove or refute one property; a construction that is not known leaves it open."""
        try:
            counter = z3.And(self._premise(wanted.claim), z3.Not(self._claim(wanted.claim)))
        except NotTranslated as error:
            return Finding(wanted.id, OPEN, wanted.says, f"not translated: {error}")
        return self._ask(wanted.id, wanted.says, counter, confirm=wanted.claim)

    def structure(self) -> Iterator[Finding]:
        """Yield what every pack must show: live rules, reachable holds, limits that can be met."""
        for rule in self.pack.rules:
            says = f"Some unit is hit by rule {rule.id}."
            yield self._exists(f"live/{rule.id}", says, lambda r=rule: self.model.rule(r).true)
        for key, step in self.pack.steps.items():
            if step.hold:
                says = f"Some unit has {key} as a hold."
                yield self._exists(f"reachable/{key}", says, lambda k=key: self._held_anywhere(k))
        yield from self._limits_can_be_met()

    def _held_anywhere(self, key: str) -> Any:
        return z3.Or(*(self.model.held(key, gate) for gate in GATES))

    def _limits_can_be_met(self) -> Iterator[Finding]:
        for step in self.pack.steps.values():
            for reading in step.readings:
                if not self._both_ends(step, reading):
                    continue
                name = f"limits/{step.key}/{reading.quantity}"
                says = f"No unit has contradictory limits on {step.key}, {reading.quantity}."
                try:
                    lows = self.model.limits(step, reading, "low")
                    highs = self.model.limits(step, reading, "high")
                except NotTranslated as error:
                    yield Finding(name, OPEN, says, f"not translated: {error}")
                    continue
                clash = [z3.And(a, b, x > y) for a, x in lows for b, y in highs]
                yield self._ask(name, says, z3.And(self.model.listed(step.key), z3.Or(*clash)))

    def _both_ends(self, step: Step, reading: Reading) -> bool:
        """Whether limits at both ends exist at all, so that they could cross."""
        ends: list[Reading | RuleLimit] = [reading]
        for rule in self.pack.rules:
            ends += [e for e in rule.limits if (e.step, e.quantity) == (step.key, reading.quantity)]
        return any(end.low for end in ends) and any(end.high for end in ends)

    def _exists(self, name: str, says: str, formula: Any) -> Finding:
        try:
            wanted = formula()
        except NotTranslated as error:
            return Finding(name, OPEN, says, f"not translated: {error}")
        answer = self._solver(wanted).check()
        if answer == z3.sat:
            return Finding(name, PROVED, says)
        verdict = REFUTED if answer == z3.unsat else OPEN
        return Finding(name, verdict, says, "no unit does" if answer == z3.unsat else "no answer")

    def _solver(self, formula: Any) -> Any:
        solver = z3.Solver()
        solver.set("timeout", _TIMEOUT_MS)
        solver.add(*self._bounds, formula)
        return solver

    def _ask(
        self, name: str, says: str, counter: Any, confirm: Mapping[str, Any] | None = None
    ) -> Finding:
        solver = self._solver(counter)
        answer = solver.check()
        if answer == z3.unsat:
            return Finding(name, PROVED, says)
        if answer != z3.sat:
            return Finding(name, OPEN, says, "the solver gave no answer in time")
        facts, touched = self._smallest(counter, solver.model())
        if confirm is not None and self._engine_agrees(confirm, facts, touched=touched):
            return Finding(name, OPEN, says, "the engine does not share the counterexample", facts)
        return Finding(name, REFUTED, says, "this unit slips through", facts, touched)

    def _smallest(self, counter: Any, first: Any) -> tuple[Facts, bool]:
        """Return the counterexample with the fewest facts that the solver finds in time."""
        optimum = z3.Optimize()
        optimum.set("timeout", _TIMEOUT_MS)
        optimum.add(*self._bounds, counter)
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

    def _engine_agrees(self, claim: Mapping[str, Any], facts: Facts, *, touched: bool) -> bool:
        """Whether the engine itself finds the claim kept for these facts."""
        checklist = derive(self.pack, facts, _TOUCHED if touched else History())
        return kept(claim, checklist)

    def _premise(self, claim: Mapping[str, Any]) -> Any:
        parts = []
        if "touched" in claim:
            opened = self.model.unit.opened
            parts.append(self.model.unit.touched if claim["touched"] else z3.Not(opened))
        if "if" in claim:
            parts.append(self._truth(claim["if"]).true)
        if "if_possible" in claim:
            parts.append(self._truth(claim["if_possible"]).possible)
        return z3.And(*parts) if parts else z3.BoolVal(val=True)

    def _truth(self, source: str) -> Truth:
        return self.model.condition(cel.condition(source).tree)

    def _claim(self, claim: Mapping[str, Any]) -> Any:
        if "hold" in claim:
            return z3.And(*(self.model.held(key, claim["gate"]) for key in claim["hold"]))
        if "any_hold" in claim:
            return z3.Or(*(self.model.held(key, claim["gate"]) for key in claim["any_hold"]))
        if "listed" in claim:
            return z3.And(*(self.model.listed(key) for key in claim["listed"]))
        if "not_listed" in claim:
            return z3.Not(z3.Or(*(self.model.listed(key) for key in claim["not_listed"])))
        return self._limit_claim(claim["limit"])

    def _limit_claim(self, limit: Mapping[str, Any]) -> Any:
        step = self.pack.steps[limit["step"]]
        reading = next(r for r in step.readings if r.quantity == limit["quantity"])
        found = [self.model.listed(step.key)]
        if "max" in limit:
            highs = self.model.limits(step, reading, "high")
            found.append(z3.Or(*(z3.And(on, v <= float(limit["max"])) for on, v in highs)))
        if "min" in limit:
            lows = self.model.limits(step, reading, "low")
            found.append(z3.Or(*(z3.And(on, v >= float(limit["min"])) for on, v in lows)))
        return z3.And(*found)


def kept(claim: Mapping[str, Any], checklist: Checklist) -> bool:
    """Tell whether a derived checklist keeps a claim; the engine's side of every proof."""
    if "hold" in claim or "any_hold" in claim:
        held = {step.key for step in checklist.gate(claim["gate"])}
        return (
            set(claim["hold"]) <= held if "hold" in claim else bool(set(claim["any_hold"]) & held)
        )
    if "listed" in claim:
        return set(claim["listed"]) <= checklist.by_key.keys()
    if "not_listed" in claim:
        return not set(claim["not_listed"]) & checklist.by_key.keys()
    return _limit_kept(claim["limit"], checklist)


def _limit_kept(limit: Mapping[str, Any], checklist: Checklist) -> bool:
    step = checklist.by_key.get(limit["step"])
    if step is None:
        return False
    reading = next(r for r in step.readings if r.quantity == limit["quantity"])
    below = "max" not in limit or (reading.high is not None and reading.high <= limit["max"])
    above = "min" not in limit or (reading.low is not None and reading.low >= limit["min"])
    return below and above


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
    found = model.unit.facts_of(optimum.model())
    return {name: value for name, value in found.items() if facts.get(name) != value}
