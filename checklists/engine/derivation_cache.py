"""Works a pack out on one set of facts, and remembers what depends on few of them.

What is listed is decided at once; reasons, limits, plans and content hashes are worked out when
somebody reads them. A unit seen before is looked up whole, and limits and plans of a step by the
facts that they read. What is kept is exact: the key holds every value that the answer depends on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from operator import itemgetter

from checklists.engine.arming import OnArrival, PossibleHazards, armed
from checklists.engine.cel import Bound, Outcome, condition, first_known
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.deciding import Conditions, Values, hashable, places, unfrozen
from checklists.engine.hazards import Armed
from checklists.engine.history import FACT, Event, History
from checklists.engine.listed import ListedAnswer, ListedPlan, ListedReading
from checklists.engine.pack import Limit, Pack, Plan, Reading, Rule, RuleLimit, Step
from checklists.engine.position import Position
from checklists.engine.reasons import Reason
from checklists.engine.validity import NOT_SIGNED
from checklists.engine.vocabulary import VOCABULARY, Facts, Value

MOST_KEPT = 4096  # entries of resolved steps, then it starts anew
MOST_UNITS = 1024  # sets of facts kept; a shop has far fewer units open at once
MOST_LISTS = 64  # lists of one set of facts: as it came, opened, with each hazard that was raised
MOST_POSITIONS = 512  # of all lists, of about 10 kB: each further step that is signed makes one

Key = tuple[object, ...]
_FAILED = Rule(
    id="failed",
    condition=condition("true"),
    require=(),
    because="It failed on this unit; it stays until it passes.",
    source="common practice",
    file="",
)


@dataclass(frozen=True, slots=True)
class ResolvedStep:
    """What of a step depends on the unit's facts alone: not its reasons, not its sign-off."""

    readings: tuple[ListedReading, ...]
    plan: ListedPlan | None
    content_hash: str


class Evaluation:
    """What the rules of a pack make of one set of facts, each part when it is first read."""

    def __init__(self, cache: DerivationCache, values: Values) -> None:
        self.cache, self.values = cache, values
        self._possible, self._hit = cache.conditions.decide(values)
        self._reasons: dict[int, Reason] = {}
        self.resolved: dict[str, ResolvedStep] = {}
        self.lists: dict[Key, Checklist] = {}

    def known(self, names: Iterable[str]) -> Facts:
        """Return those of these facts that are recorded, as they were when this was derived."""
        values = self.values
        return unfrozen({name: values[name] for name in names if name in values})

    @cached_property
    def in_force(self) -> list[int]:
        """The places of the rules that are not plainly missed."""
        return list(places(self._possible))

    @cached_property
    def required(self) -> dict[str, list[int]]:
        """The steps that rules in force require, each with the places of those rules."""
        required: dict[str, list[int]] = {}
        rules = self.cache.pack.rules
        for place in self.in_force:
            for key in rules[place].require:
                required.setdefault(key, []).append(place)
        return required

    @cached_property
    def on_arrival(self) -> OnArrival:
        """The hazards that a unit of these facts comes with."""
        return self.cache.possible.on_arrival(self.values)

    @cached_property
    def as_it_came(self) -> tuple[Armed, ...]:
        """Those hazards in the table's order."""
        return tuple([self.on_arrival[place] for place in sorted(self.on_arrival)])

    @cached_property
    def rule_limits(self) -> dict[str, list[RuleLimit]]:
        """Limits that rules in force put on steps, by step."""
        by_step: dict[str, list[RuleLimit]] = {}
        for place in self.in_force:
            for limit in self.cache.pack.rules[place].limits:
                by_step.setdefault(limit.step, []).append(limit)
        return by_step

    def reason(self, place: int) -> Reason:
        """Return the reason that a rule in force gives."""
        reason = self._reasons.get(place)
        if reason is None:
            outcome = self.cache.conditions.outcome(place, self._hit, self.values)
            reason = self.reason_of(self.cache.pack.rules[place], outcome)
            self._reasons[place] = reason
        return reason

    def reason_of(self, rule: Rule, outcome: Outcome) -> Reason:
        """Return the reason of a rule with this outcome."""
        read = rule.condition.names
        facts = self.known(sorted(read))
        missing = read - facts.keys() if outcome is Outcome.UNDETERMINED else frozenset()
        return Reason(rule, outcome, facts, missing)


class Listing:
    """One list of a unit: what its facts, hazards and fails put on it, and why."""

    def __init__(
        self, unit: Evaluation, hazards: tuple[Armed, ...], failed: frozenset[str], *, opened: bool
    ) -> None:
        self.unit, self.hazards, self.failed, self.opened = unit, hazards, failed, opened
        self._reasons: dict[str, tuple[Reason, ...]] = {}
        self._undetermined: dict[str, bool] = {}

    def keys(self) -> list[str]:
        """Return the steps of the list in order. A step that failed stays, whatever the facts say since."""
        keys = self.failed.union(self.unit.required, *[h.hazard.listed_steps for h in self.hazards])
        return sorted(keys, key=self.unit.cache.pack.rank.__getitem__)

    def steps(self) -> tuple[ListedStep, ...]:
        """Return the steps of the list in order, none of them signed."""
        steps = self.unit.cache.pack.steps
        return tuple([ListedStep(steps[key], self, NOT_SIGNED) for key in self.keys()])

    @cached_property
    def holds(self) -> dict[str | None, tuple[str, ...]]:
        """The keys of the hold steps by gate, in the order of the list."""
        steps, holds = self.unit.cache.pack.steps, dict[str | None, list[str]]()
        for step in (steps[key] for key in self.keys()):
            if step.hold:
                holds.setdefault(self.gate(step), []).append(step.key)
        return {gate: tuple(keys) for gate, keys in holds.items()}

    def gate(self, step: Step) -> str | None:
        """Return the gate at which a step holds; for some another once the unit was opened."""
        return (step.gate_once_opened if self.opened else None) or step.gate

    def position(self, standing: frozenset[str]) -> Position:
        """Return what follows from the steps that stand on one of these lists."""
        kept = self.unit.cache.positions
        found = kept.get((self, standing))
        if found is None:
            if len(kept) >= MOST_POSITIONS:
                kept.clear()
            found = kept[self, standing] = Position(self, standing)
        return found

    def reasons(self, key: str) -> tuple[Reason, ...]:
        """Return every reason for a step: a hazard is one where no rule requires the step."""
        reasons = self._reasons.get(key)
        if reasons is None:
            reasons = self._reasons[key] = self._reasons_for(key)
        return reasons

    def is_undetermined(self, key: str) -> bool:
        """Tell whether no rule for a step is plainly hit."""
        found = self._undetermined.get(key)
        if found is None:
            found = all(reason.outcome is not Outcome.HIT for reason in self.reasons(key))
            self._undetermined[key] = found
        return found

    def _reasons_for(self, key: str) -> tuple[Reason, ...]:
        by_rules = self.unit.required.get(key)
        if by_rules:
            return tuple([self.unit.reason(place) for place in by_rules])
        armed = [one for one in self.hazards if key in one.hazard.listed_steps]
        if armed:
            return tuple([_reason_of(one, self.unit) for one in armed])
        return (Reason(_FAILED, Outcome.HIT, {}, frozenset()),)

    def resolved(self, step: Step) -> ResolvedStep:
        """Return limits, plan and content hash of a step for these facts."""
        resolved = self.unit.resolved.get(step.key)
        if resolved is None:
            resolved = self.unit.cache.resolved(step, self.unit)
            self.unit.resolved[step.key] = resolved
        return resolved

    def answers(self, step: Step) -> tuple[ListedAnswer, ...]:
        """Return what the step asks and nobody has recorded yet."""
        asked = [name for name in step.answers if name not in self.unit.values]
        return tuple([ListedAnswer.of(VOCABULARY[name]) for name in asked])


class DerivationCache:
    """What has been worked out for one pack. Safe to share between threads: entries only come."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        self.conditions = Conditions([rule.condition for rule in pack.rules])
        self.possible = PossibleHazards(pack.hazards)
        self._resolved: dict[Key, ResolvedStep] = {}
        self._units: dict[Key, Evaluation] = {}
        self.positions: dict[tuple[Listing, frozenset[str]], Position] = {}
        self._reads = {key: _names_read(pack, step) for key, step in pack.steps.items()}
        self._raised: dict[Key, frozenset[str]] = {}
        triggers = [trigger for hazard in pack.hazards for trigger in hazard.raised_by]
        # Types of events that raise a hazard, and facts that do when they are told.
        self._raising = frozenset(
            t.event_type for t in triggers if t.event_type != FACT or not t.fact
        )
        self._raising_facts = frozenset(t.fact for t in triggers if t.event_type == FACT and t.fact)

    def unit(self, facts: Mapping[str, Value]) -> Evaluation:
        """Return what the pack makes of these facts; that of the same facts before, if it is kept."""
        values = tuple([tuple(v) if type(v) is list else v for v in facts.values()])
        # Python takes 1, 1.0 and True as equal; CEL does not.
        key = (tuple(facts), values, tuple(map(type, values)))
        unit = self._units.get(key)
        if unit is None:
            if len(self._units) >= MOST_UNITS:
                self._units.clear()
            unit = self._units[key] = Evaluation(self, hashable(facts))
        return unit

    def armed(self, unit: Evaluation, history: History) -> tuple[Armed, ...]:
        """Return the hazards of a unit of these facts and this history."""
        if not history.others:
            return unit.as_it_came
        raisers = self._raisers(history)
        return armed(self.possible, unit.on_arrival, unit.values, history, raisers)

    def _raisers(self, history: History) -> dict[str, list[Event]]:
        raisers: dict[str, list[Event]] = {}
        for event in history.of_types(self._raising, self._raising_facts):
            for key in self._raised_by(event) | event.carried:
                raisers.setdefault(key, []).append(event)
        return raisers

    def _raised_by(self, event: Event) -> frozenset[str]:
        key = _narrowing(event)
        raised = self._raised.get(key)
        if raised is None:
            if len(self._raised) >= MOST_KEPT:
                self._raised.clear()
            raised = self._raised[key] = self.pack.raised_by(event)
        return raised

    def unsigned(
        self,
        unit: Evaluation,
        hazards: tuple[Armed, ...],
        failed: frozenset[str],
        *,
        opened: bool,
    ) -> Checklist:
        """Return the checklist for these facts and hazards, with no step signed.

        Units that are alike share it, and what it works out of itself.
        """
        key = (opened, hazards, failed)
        found = unit.lists.get(key)
        if found is None:
            if len(unit.lists) >= MOST_LISTS:
                unit.lists.clear()
            listing = Listing(unit, hazards, failed, opened=opened)
            found = Checklist(self.pack, listing.steps(), unfrozen(unit.values), listing)
            unit.lists[key] = found
        return found

    def resolved(self, step: Step, unit: Evaluation) -> ResolvedStep:
        """Return limits, plan and content hash of a step for these facts."""
        rule_limits = unit.rule_limits.get(step.key, [])
        reads = self._reads[step.key]
        values = tuple([unit.values.get(name) for name in reads])
        kinds = tuple(map(type, values))
        key = (step.key, values, kinds, tuple([id(limit) for limit in rule_limits]))
        resolved = self._resolved.get(key)
        if resolved is None:
            if len(self._resolved) >= MOST_KEPT:
                self._resolved.clear()
            resolved = self._resolved[key] = self._resolve(
                step, Bound(unit.known(reads)), rule_limits
            )
        return resolved

    def _resolve(self, step: Step, bound: Bound, rule_limits: list[RuleLimit]) -> ResolvedStep:
        readings = tuple(_reading(reading, rule_limits, bound) for reading in step.readings)
        plan = _plan(step.plan, bound) if step.plan else None
        limits = tuple((reading.low, reading.high) for reading in readings)
        planned = (plan.calculation, plan.arguments) if plan else ()
        return ResolvedStep(readings, plan, self.pack.content_hash(step, limits, planned))


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


def _reason_of(one: Armed, unit: Evaluation) -> Reason:
    hazard = one.hazard
    rule = Rule(
        id=f"hazard {hazard.key}",
        condition=hazard.possible,
        require=hazard.listed_steps,
        because=hazard.because,
        source=hazard.source,
        file=hazard.file,
    )
    return unit.reason_of(rule, Outcome.HIT if one.certain else Outcome.UNDETERMINED)


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
