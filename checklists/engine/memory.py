"""Works a pack out on one set of facts, and remembers what depends on few of them.

A rule reads a handful of facts, and most units share most of those values. So rules are grouped
by the facts that they read: for each group the values are looked up once, and only values never
seen before cost an evaluation. Limits and plans of a step are kept in the same way. What is
kept is exact: the key holds every value that the answer depends on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from operator import itemgetter

from checklists.engine.cel import Bound, Outcome
from checklists.engine.checklist import ListedPlan, ListedReading, ListedStep, Reason
from checklists.engine.index import fits, needs_of
from checklists.engine.pack import Limit, Pack, Plan, Reading, Rule, RuleLimit, Step
from checklists.engine.standing import NOT_SIGNED
from checklists.engine.vocabulary import Value

MOST_KEPT = 4096  # entries of one group or of the shapes, then it starts anew
MOST_UNITS = 1024  # whole checklists kept; a shop has far fewer units open at once

Key = tuple[object, ...]
Placed = tuple[int, Reason]


class Question:
    """One set of facts on its way through a derivation."""

    def __init__(self, facts: Mapping[str, Value]) -> None:
        self.facts = facts
        self.hashable = {
            name: tuple(value) if isinstance(value, list) else value
            for name, value in facts.items()
        }
        self.in_force: list[Placed] = []

    @cached_property
    def bound(self) -> Bound:
        """The facts bound for evaluation; most questions are answered without."""
        return Bound(self.facts)

    @cached_property
    def extra(self) -> dict[str, list[RuleLimit]]:
        """Limits that rules in force put on steps, by step."""
        found: dict[str, list[RuleLimit]] = {}
        for _, reason in self.in_force:
            for limit in reason.rule.limits:
                found.setdefault(limit.step, []).append(limit)
        return found


@dataclass(frozen=True, slots=True)
class Shape:
    """A step on one unit, but for its reasons and how it stands."""

    gate: str | None
    readings: tuple[ListedReading, ...]
    plan: ListedPlan | None
    substance: str


@dataclass(slots=True)
class _Group:
    """Rules that read the same facts."""

    names: tuple[str, ...]
    rules: list[tuple[int, Rule, dict[str, frozenset[str]]]] = field(default_factory=list)
    known: dict[Key, tuple[Placed, ...]] = field(default_factory=dict)


class Memory:
    """What has been worked out for one pack. Safe to share between threads: entries only come."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        groups: dict[tuple[str, ...], _Group] = {}
        for place, rule in enumerate(pack.rules):
            names = tuple(sorted(rule.condition.names))
            needs = needs_of(rule.condition.tree)
            groups.setdefault(names, _Group(names)).rules.append((place, rule, needs))
        self._groups = list(groups.values())
        self._shapes: dict[Key, Shape] = {}
        self._units: dict[Key, tuple[ListedStep, ...]] = {}
        self._reads = {key: _names_read(pack, step) for key, step in pack.steps.items()}

    def listed(self, asked: Question, *, opened: bool) -> tuple[ListedStep, ...]:
        """Return the steps for these facts in order, none of them signed."""
        key = (opened, *asked.hashable.items())
        listed = self._units.get(key)
        if listed is None:
            if len(self._units) >= MOST_UNITS:
                self._units.clear()
            listed = self._units[key] = self._list(asked, opened=opened)
        return listed

    def _list(self, asked: Question, *, opened: bool) -> tuple[ListedStep, ...]:
        drawn = []
        for key, reasons in self.required(asked):
            step = self.pack.steps[key]
            shape = self.shape(step, asked, opened=opened)
            parts = (shape.gate, reasons, shape.readings, shape.plan, shape.substance)
            drawn.append(ListedStep(step, *parts, NOT_SIGNED))
        return tuple(drawn)

    def in_force(self, asked: Question) -> list[Placed]:
        """Return (place in the pack, reason) for every rule that is not plainly missed."""
        get = asked.hashable.get
        found: list[Placed] = []
        for group in self._groups:
            key = tuple([get(name) for name in group.names])
            reasons = group.known.get(key)
            found += self._work_out(group, key, asked) if reasons is None else reasons
        found.sort(key=itemgetter(0))
        return found

    def _work_out(self, group: _Group, key: Key, asked: Question) -> tuple[Placed, ...]:
        if len(group.known) >= MOST_KEPT:
            group.known.clear()
        facts = {name: asked.facts[name] for name in group.names if name in asked.facts}
        found: list[Placed] = []
        for place, rule, needs in group.rules:
            # A known word that rules the rule out saves its evaluation: what a large pack
            # says of other kinds of unit costs nothing.
            outcome = rule.condition.outcome(asked.bound) if fits(needs, facts) else Outcome.MISS
            if outcome is not Outcome.MISS:
                found.append((place, _reason(rule, outcome, facts)))
        group.known[key] = tuple(found)
        return group.known[key]

    def required(self, asked: Question) -> list[tuple[str, tuple[Reason, ...]]]:
        """Return the steps of the list in order, each with every reason for it."""
        asked.in_force = self.in_force(asked)
        required: dict[str, list[Reason]] = {}
        for _, reason in asked.in_force:
            for key in reason.rule.require:
                required.setdefault(key, []).append(reason)
        keys = sorted(required, key=self.pack.rank.__getitem__)
        return [(key, tuple(required[key])) for key in keys]

    def shape(self, step: Step, asked: Question, *, opened: bool) -> Shape:
        """Return gate, limits, plan and substance of a step for these facts."""
        extra = asked.extra.get(step.key, [])
        values = tuple([asked.hashable.get(name) for name in self._reads[step.key]])
        key = (step.key, opened, values, tuple([id(limit) for limit in extra]))
        shape = self._shapes.get(key)
        if shape is None:
            if len(self._shapes) >= MOST_KEPT:
                self._shapes.clear()
            shape = self._shapes[key] = self._draw(step, asked.bound, extra, opened=opened)
        return shape

    def _draw(self, step: Step, bound: Bound, extra: list[RuleLimit], *, opened: bool) -> Shape:
        readings = tuple(_reading(reading, extra, bound) for reading in step.readings)
        plan = _plan(step.plan, bound) if step.plan else None
        limits = tuple((reading.low, reading.high) for reading in readings)
        planned = (plan.calculation, plan.arguments) if plan else ()
        gate = step.gate_once_opened if opened and step.gate_once_opened else step.gate
        return Shape(gate, readings, plan, self.pack.substance(step, limits, planned))


def _names_read(pack: Pack, step: Step) -> tuple[str, ...]:
    """Return every fact that limits and plan of a step can depend on."""
    ends: list[Limit | None] = [e for reading in step.readings for e in (reading.low, reading.high)]
    for rule in pack.rules:
        ends += [
            e for limit in rule.limits if limit.step == step.key for e in (limit.low, limit.high)
        ]
    names = {name for end in ends if end for name in end.names}
    if step.plan:
        names |= {name for _, sum_ in step.plan.arguments for name in sum_.names}
    return tuple(sorted(names))


def _reason(rule: Rule, outcome: Outcome, facts: Mapping[str, Value]) -> Reason:
    missing = rule.condition.names - facts.keys()
    unknown = missing if outcome is Outcome.UNDETERMINED else frozenset()
    return Reason(rule, outcome, dict(facts), unknown)


def _reading(reading: Reading, extra: list[RuleLimit], bound: Bound) -> ListedReading:
    """Merge the step's own limits with those of rules in force: the strictest wins."""
    ends: list[Reading | RuleLimit] = [reading]
    ends += [limit for limit in extra if limit.quantity == reading.quantity]
    lows = [(end.low.value(bound), end.source) for end in ends if end.low]
    highs = [(end.high.value(bound), end.source) for end in ends if end.high]
    low, low_source = max(lows, default=(None, ""), key=itemgetter(0))
    high, high_source = min(highs, default=(None, ""), key=itemgetter(0))
    sources = "; ".join(dict.fromkeys(source for source in (low_source, high_source) if source))
    return ListedReading(
        reading.quantity,
        reading.title,
        reading.unit,
        low,
        high,
        sources or reading.source,
        reading.required,
    )


def _plan(plan: Plan, bound: Bound) -> ListedPlan:
    amounts = [(name, sum_.amount(bound)) for name, sum_ in plan.arguments]
    missing = {name for _, sum_ in plan.arguments for name in sum_.names - bound.known}
    known = tuple((name, amount) for name, amount in amounts if amount is not None)
    return ListedPlan(plan.calculation, known, tuple(sorted(missing)))
