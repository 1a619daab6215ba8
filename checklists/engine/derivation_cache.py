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

from checklists.engine.arming import PossibleHazards, armed
from checklists.engine.cel import Bound, Outcome, condition, first_known
from checklists.engine.checklist import (
    ListedAnswer,
    ListedPlan,
    ListedReading,
    ListedStep,
    Reason,
)
from checklists.engine.hazards import Armed
from checklists.engine.history import Event, History
from checklists.engine.pack import Limit, Pack, Plan, Reading, Rule, RuleLimit, Step
from checklists.engine.prefilter import may_match, required_words
from checklists.engine.validity import NOT_SIGNED
from checklists.engine.vocabulary import VOCABULARY, Value

MOST_KEPT = 4096  # entries of one group or of resolved steps, then it starts anew
MOST_UNITS = 1024  # whole checklists kept; a shop has far fewer units open at once

Key = tuple[object, ...]
_FAILED = Rule(
    id="failed",
    condition=condition("true"),
    require=(),
    because="It failed on this unit; it stays until it passes.",
    source="common practice",
    file="",
)
Placed = tuple[int, Reason]


class Evaluation:
    """One set of facts on its way through a derivation, and what it has led to so far."""

    def __init__(self, facts: Mapping[str, Value]) -> None:
        self.facts = facts
        self.hashable = {
            name: tuple(value) if isinstance(value, list) else value
            for name, value in facts.items()
        }
        self.in_force: list[Placed] = []

    @cached_property
    def bound(self) -> Bound:
        """The facts bound for CEL; most evaluations are answered without."""
        return Bound(self.facts)

    @cached_property
    def rule_limits(self) -> dict[str, list[RuleLimit]]:
        """Limits that rules in force put on steps, by step."""
        by_step: dict[str, list[RuleLimit]] = {}
        for _, reason in self.in_force:
            for limit in reason.rule.limits:
                by_step.setdefault(limit.step, []).append(limit)
        return by_step


@dataclass(frozen=True, slots=True)
class ResolvedStep:
    """What of a step depends on the unit's facts alone: not its reasons, not its sign-off."""

    gate: str | None
    readings: tuple[ListedReading, ...]
    plan: ListedPlan | None
    content_hash: str


@dataclass(slots=True)
class _RuleGroup:
    """Rules that read the same facts."""

    names: tuple[str, ...]
    rules: list[tuple[int, Rule, dict[str, frozenset[str]]]] = field(default_factory=list)
    outcomes: dict[Key, tuple[Placed, ...]] = field(default_factory=dict)


class DerivationCache:
    """What has been worked out for one pack. Safe to share between threads: entries only come."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        groups: dict[tuple[str, ...], _RuleGroup] = {}
        for place, rule in enumerate(pack.rules):
            names = tuple(sorted(rule.condition.names))
            words = required_words(rule.condition.tree)
            groups.setdefault(names, _RuleGroup(names)).rules.append((place, rule, words))
        self._groups = list(groups.values())
        self._resolved: dict[Key, ResolvedStep] = {}
        self._units: dict[Key, tuple[ListedStep, ...]] = {}
        self._reads = {key: _names_read(pack, step) for key, step in pack.steps.items()}
        self._possible = PossibleHazards(pack.hazards)
        self._raised: dict[Key, frozenset[str]] = {}

    def armed(self, evaluation: Evaluation, history: History) -> tuple[Armed, ...]:
        """Return the hazards of a unit of these facts and this history."""
        return armed(self._possible, evaluation.facts, history, self._raised_by)

    def _raised_by(self, event: Event) -> frozenset[str]:
        key = _narrowing(event)
        raised = self._raised.get(key)
        if raised is None:
            if len(self._raised) >= MOST_KEPT:
                self._raised.clear()
            raised = self._raised[key] = self.pack.raised_by(event)
        return raised

    def steps_for(
        self,
        evaluation: Evaluation,
        hazards: tuple[Armed, ...] = (),
        failed: frozenset[str] = frozenset(),
        *,
        opened: bool,
    ) -> tuple[ListedStep, ...]:
        """Return the steps for these facts and hazards in order, none of them signed.

        A step that failed stays, whatever the facts say since.
        """
        key = (opened, hazards, failed, *evaluation.hashable.items())
        steps = self._units.get(key)
        if steps is None:
            if len(self._units) >= MOST_UNITS:
                self._units.clear()
            steps = self._units[key] = self._list(evaluation, hazards, failed, opened=opened)
        return steps

    def _list(
        self,
        evaluation: Evaluation,
        hazards: tuple[Armed, ...],
        failed: frozenset[str],
        *,
        opened: bool,
    ) -> tuple[ListedStep, ...]:
        steps = []
        for key, reasons in self.required(evaluation, hazards, failed):
            step = self.pack.steps[key]
            resolved = self.resolved(step, evaluation, opened=opened)
            steps.append(
                ListedStep(
                    step=step,
                    gate=resolved.gate,
                    reasons=reasons,
                    readings=resolved.readings,
                    plan=resolved.plan,
                    content_hash=resolved.content_hash,
                    validity=NOT_SIGNED,
                    answers=_answers(step, evaluation),
                )
            )
        return tuple(steps)

    def in_force(self, evaluation: Evaluation) -> list[Placed]:
        """Return (place in the pack, reason) for every rule that is not plainly missed."""
        get = evaluation.hashable.get
        placed: list[Placed] = []
        for group in self._groups:
            key = tuple([get(name) for name in group.names])
            reasons = group.outcomes.get(key)
            placed += self._work_out(group, key, evaluation) if reasons is None else reasons
        placed.sort(key=itemgetter(0))
        return placed

    def _work_out(self, group: _RuleGroup, key: Key, evaluation: Evaluation) -> tuple[Placed, ...]:
        if len(group.outcomes) >= MOST_KEPT:
            group.outcomes.clear()
        facts = {name: evaluation.facts[name] for name in group.names if name in evaluation.facts}
        placed: list[Placed] = []
        for place, rule, words in group.rules:
            # A known word that rules the rule out saves its evaluation: what a large pack
            # says of other kinds of unit costs nothing.
            if not may_match(words, facts):
                continue
            outcome = rule.condition.outcome(evaluation.bound)
            if outcome is not Outcome.MISS:
                placed.append((place, _reason(rule, outcome, facts)))
        group.outcomes[key] = tuple(placed)
        return group.outcomes[key]

    def required(
        self,
        evaluation: Evaluation,
        hazards: tuple[Armed, ...] = (),
        failed: frozenset[str] = frozenset(),
    ) -> list[tuple[str, tuple[Reason, ...]]]:
        """Return the steps of the list in order, each with every reason for it.

        A hazard is a reason for the steps that clear it where no rule requires them.
        """
        evaluation.in_force = self.in_force(evaluation)
        required: dict[str, list[Reason]] = {}
        for _, reason in evaluation.in_force:
            for key in reason.rule.require:
                required.setdefault(key, []).append(reason)
        by_rules = frozenset(required)
        for one in hazards:
            for key in one.hazard.listed_steps:
                if key not in by_rules:
                    required.setdefault(key, []).append(_reason_of(one, evaluation))
        for key in failed - required.keys():
            required[key] = [Reason(_FAILED, Outcome.HIT, {}, frozenset())]
        keys = sorted(required, key=self.pack.rank.__getitem__)
        return [(key, tuple(required[key])) for key in keys]

    def resolved(self, step: Step, evaluation: Evaluation, *, opened: bool) -> ResolvedStep:
        """Return gate, limits, plan and content hash of a step for these facts."""
        rule_limits = evaluation.rule_limits.get(step.key, [])
        values = tuple([evaluation.hashable.get(name) for name in self._reads[step.key]])
        key = (step.key, opened, values, tuple([id(limit) for limit in rule_limits]))
        resolved = self._resolved.get(key)
        if resolved is None:
            if len(self._resolved) >= MOST_KEPT:
                self._resolved.clear()
            resolved = self._resolved[key] = self._resolve(
                step, evaluation.bound, rule_limits, opened=opened
            )
        return resolved

    def _resolve(
        self, step: Step, bound: Bound, rule_limits: list[RuleLimit], *, opened: bool
    ) -> ResolvedStep:
        readings = tuple(_reading(reading, rule_limits, bound) for reading in step.readings)
        plan = _plan(step.plan, bound) if step.plan else None
        limits = tuple((reading.low, reading.high) for reading in readings)
        planned = (plan.calculation, plan.arguments) if plan else ()
        gate = step.gate_once_opened if opened and step.gate_once_opened else step.gate
        return ResolvedStep(gate, readings, plan, self.pack.content_hash(step, limits, planned))


def _names_read(pack: Pack, step: Step) -> tuple[str, ...]:
    """Return every fact that limits and plan of a step can depend on."""
    ends: list[Limit | None] = [e for reading in step.readings for e in (reading.low, reading.high)]
    for rule in pack.rules:
        ends += [
            e for limit in rule.limits if limit.step == step.key for e in (limit.low, limit.high)
        ]
    names = {name for end in ends if end for name in end.names}
    if step.plan:
        names |= {name for _, sums in step.plan.arguments for one in sums for name in one.names}
    return tuple(sorted(names))


def _narrowing(event: Event) -> Key:
    """Return all of an event that a trigger may ask for."""
    value = tuple(event.value) if isinstance(event.value, list) else event.value
    what = (event.event_type, event.work, event.finding, event.section, event.power, event.stage)
    return (*what, event.fact, value, event.from_outside, event.unreadable)


def _reason_of(one: Armed, evaluation: Evaluation) -> Reason:
    hazard = one.hazard
    rule = Rule(
        id=f"hazard {hazard.key}",
        condition=hazard.possible,
        require=hazard.listed_steps,
        because=hazard.because,
        source=hazard.source,
        file=hazard.file,
    )
    read = {n: evaluation.facts[n] for n in hazard.possible.names if n in evaluation.facts}
    outcome = Outcome.HIT if one.certain else Outcome.UNDETERMINED
    return _reason(rule, outcome, read)


def _reason(rule: Rule, outcome: Outcome, facts: Mapping[str, Value]) -> Reason:
    missing = rule.condition.names - facts.keys()
    unknown = missing if outcome is Outcome.UNDETERMINED else frozenset()
    return Reason(rule, outcome, dict(facts), unknown)


def _answers(step: Step, evaluation: Evaluation) -> tuple[ListedAnswer, ...]:
    """Return what the step asks and nobody has recorded yet."""
    asked = [name for name in step.answers if name not in evaluation.facts]
    return tuple(ListedAnswer.of(VOCABULARY[name]) for name in asked)


def _reading(reading: Reading, rule_limits: list[RuleLimit], bound: Bound) -> ListedReading:
    """Merge the step's own limits with those of rules in force: the strictest wins."""
    ends: list[Reading | RuleLimit] = [reading]
    ends += [limit for limit in rule_limits if limit.quantity == reading.quantity]
    lows = [(end.low.value(bound), end.source) for end in ends if end.low]
    highs = [(end.high.value(bound), end.source) for end in ends if end.high]
    low, low_source = max(lows, default=(None, ""), key=itemgetter(0))
    high, high_source = min(highs, default=(None, ""), key=itemgetter(0))
    sources = "; ".join(dict.fromkeys(source for source in (low_source, high_source) if source))
    return ListedReading(
        quantity=reading.quantity,
        title=reading.title,
        unit=reading.unit,
        low=low,
        high=high,
        source=sources or reading.source,
        required=reading.required and not _passes_all(reading, low, high),
        signed=reading.signed,
        measures=reading.measures,
    )


def _passes_all(reading: Reading, low: float | None, high: float | None) -> bool:
    """Whether no value is outside: the limits of this unit ask a magnitude for at least nothing."""
    return not reading.signed and high is None and low is not None and low <= 0


def _plan(plan: Plan, bound: Bound) -> ListedPlan:
    amounts = [(name, first_known(sums, bound)) for name, sums in plan.arguments]
    # Of an argument that cannot be had, its first sum says what to find out.
    lacking = [sums[0] for _, sums in plan.arguments if first_known(sums, bound) is None]
    missing = {name for one in lacking for name in one.names - bound.known}
    known = tuple((name, amount) for name, amount in amounts if amount is not None)
    return ListedPlan(plan.calculation, known, tuple(sorted(missing)))
