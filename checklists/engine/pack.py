"""Packs: versioned sets of rules and step texts, read from a folder of TOML files."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush

from checklists.engine import cel
from checklists.engine.hazards import Hazard
from checklists.engine.history import Event, Trigger
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.words import PHASES

Bounds = tuple[float | None, float | None]


class PackError(ValueError):
    """A pack that cannot be used; `problems` holds one sentence for each fault."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


@dataclass(frozen=True, slots=True)
class Caution:
    """An ANSI Z535 signal word and the sentence under it."""

    signal_word: str
    text: str


@dataclass(frozen=True, slots=True)
class Limit:
    """One end of a range: a number, or sums over facts with a value for when none can be had.

    Of the sums the first counts whose facts are known.
    """

    number: float
    worked_out: tuple[cel.Quantity, ...] = ()

    def value(self, bound: cel.Bound) -> float:
        """Return the limit for these facts; the careful number when it cannot be worked out."""
        amount = cel.first_known(self.worked_out, bound)
        return self.number if amount is None else amount

    @property
    def names(self) -> frozenset[str]:
        """The facts that this limit depends on."""
        return frozenset().union(*(one.names for one in self.worked_out))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A quantity to be measured at a step, its unit, and the range that passes."""

    quantity: str
    title: str
    unit: str
    source: str
    low: Limit | None = None
    high: Limit | None = None
    required: bool = True
    role: ReadingRole | None = None
    # Whether its sign counts. Else it is a magnitude, and judged by its absolute value.
    signed: bool = False
    # What an instrument measures here, a word of MEASURED; empty: counted, worked out or read off.
    measures: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """A bench calculation by name, with its arguments as sums over facts, the first known first."""

    calculation: str
    arguments: tuple[tuple[str, tuple[cel.Quantity, ...]], ...]


@dataclass(frozen=True, slots=True)
class Card:
    """What a person does in one go: several steps, each with its own readings and sign-off."""

    name: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line of the checklist as the pack words it.

    `gate_once_opened` takes the place of `gate` when the unit has been opened or worked on.
    `needs_power`, `needs_cover` and `needs_steps` say in which power and cover state, and after
    which steps, it can be done at all. `invalidated_by` is what ends its sign-off: what raises
    the hazards it clears, and what the step names itself. `scope` is "unit" or "bench".
    """

    key: str
    title: str
    instruction: str
    phase: str
    file: str
    gate: str | None = None
    gate_once_opened: str | None = None
    hold: bool = False
    after: tuple[str, ...] = ()
    caution: Caution | None = None
    readings: tuple[Reading, ...] = ()
    plan: Plan | None = None
    invalidated_by: tuple[Trigger, ...] = ()
    signed_by: tuple[str, ...] = ("owner", "technician")
    waivable_by: tuple[str, ...] = ()
    # What is done instead when it is waived.
    instead: str = ""
    not_applicable: bool = True
    second_person: bool = False
    needs_power: tuple[str, ...] = ()
    needs_cover: str = ""
    needs_steps: tuple[str, ...] = ()
    # A hand goes in for it where the unit is open, though it is done at a closed one too.
    reaches_in: bool = False
    scope: str = "unit"
    # Hazards that a step of the shop clears beside the steps of the table.
    clears: tuple[str, ...] = ()
    # Every hazard that it clears, alone or with others: by the table or by `clears`.
    hazards: frozenset[str] = frozenset()
    source: str = ""
    role: StepRole | None = None
    # The card that it is done with, or nothing when it is done by itself.
    together: str = ""
    # Facts that whoever does it sees, so that a pass has to tell those that are not recorded.
    answers: tuple[str, ...] = ()

    @property
    def of_the_bench(self) -> bool:
        """Whether it speaks of the set-up around the unit, not of the unit."""
        return self.scope == "bench"

    @property
    def of_the_closed_unit(self) -> bool:
        """Whether it is a test of the unit as it leaves.

        It is done with the cover on, or closing ends it, so that what stands was done since.
        """
        closing_ends_it = any(end.event_type == "cover_fitted" for end in self.invalidated_by)
        return self.needs_cover == "on" or (self.gate == "release" and closing_ends_it)

    @property
    def by_hand(self) -> bool:
        """Whether a hand goes into the open, isolated unit for it.

        What comes before the first hand, discharge and dead test, is done by probe.
        """
        inside = self.needs_cover == "off" and self.needs_power == ("isolated",)
        return inside and self.gate != "hands-in"

    @property
    def at_the_unit(self) -> bool:
        """Whether a hand goes in for it when the cover happens to be off: work with mains off."""
        dead = self.needs_power == ("isolated",) and self.gate != "hands-in"
        return dead and (self.reaches_in or self.phase in ("inspection", "work"))

    def reading_with_role(self, role: ReadingRole) -> Reading:
        """Return the reading that has this role; KeyError when none has."""
        return {reading.role: reading for reading in self.readings}[role]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLimit:
    """A limit that a rule puts on a reading of a step, on top of the step's own."""

    step: str
    quantity: str
    source: str
    low: Limit | None = None
    high: Limit | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """When the condition is not plainly false, the steps are required."""

    id: str
    condition: cel.Condition
    require: tuple[str, ...]
    because: str
    source: str
    file: str
    limits: tuple[RuleLimit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A possible cause: when it is one, its weight beside others, and the test that settles it.

    `weight` is relative; `times` multiplies it where `more_when` holds. minutes: of the test.
    """

    key: str
    title: str
    condition: cel.Condition
    weight: float
    minutes: float
    test: str
    section: str
    source: str
    more: cel.Condition | None = None
    times: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Pack:
    """A usable pack: every name resolved, every condition compiled, order known."""

    name: str
    version: str
    rules: tuple[Rule, ...]
    steps: dict[str, Step]
    raw: dict[str, object] = field(repr=False, default_factory=dict)
    suspects: tuple[Suspect, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    cards: dict[str, Card] = field(default_factory=dict)
    _content_hashes: dict[tuple[object, ...], str] = field(repr=False, default_factory=dict)

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the content; comments and layout of the files do not count."""
        return hashlib.sha256(json.dumps(self.raw, sort_keys=True).encode()).hexdigest()

    @cached_property
    def rank(self) -> dict[str, int]:
        """Place of each step in the one order all checklists follow."""
        return {key: place for place, key in enumerate(order(self.steps))}

    @cached_property
    def _by_role(self) -> dict[StepRole | None, Step]:
        return {step.role: step for step in self.steps.values()}

    def step_with_role(self, role: StepRole) -> Step:
        """Return the step that has this role; every pack that was read from a folder has one."""
        return self._by_role[role]

    @cached_property
    def _cleared_by_step(self) -> dict[str, tuple[Hazard, ...]]:
        cleared: dict[str, tuple[Hazard, ...]] = {}
        for hazard in self.hazards:
            for key in (*hazard.cleared_by, *hazard.also):
                cleared[key] = (*cleared.get(key, ()), hazard)
        return cleared

    def hazards_cleared_by(self, key: str) -> tuple[Hazard, ...]:
        """Return the hazards that a step clears, alone or with others."""
        return self._cleared_by_step.get(key, ())

    def raised_by(self, event: Event) -> frozenset[str]:
        """Return the keys of the hazards that an event raises."""
        return frozenset(
            hazard.key
            for hazard in self.hazards
            if any(trigger.applies_to(event) for trigger in hazard.raised_by)
        )

    def content_hash(self, step: Step, limits: tuple[Bounds, ...], plan: tuple[object, ...]) -> str:
        """Return the hash of what is signed for: the text, the limits and the plan."""
        known = self._content_hashes.get((step.key, limits, plan))
        if known is None:
            known = _hash_of(step, limits, plan)
            self._content_hashes[(step.key, limits, plan)] = known
        return known


def _hash_of(step: Step, limits: tuple[Bounds, ...], plan: tuple[object, ...]) -> str:
    caution = (step.caution.signal_word, step.caution.text) if step.caution else None
    asked = [(reading.quantity, reading.unit, reading.required) for reading in step.readings]
    content = [step.key, step.title, step.instruction, step.hold, caution, asked, limits, plan]
    content += [step.instead] if step.instead else []
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()


def order(steps: dict[str, Step]) -> list[str]:
    """Sort topologically by what comes first, phase first and place in the files next.

    PackError names the steps of a circle.
    """
    first = {key: (PHASES.index(s.phase), place) for place, (key, s) in enumerate(steps.items())}
    sorter = TopologicalSorter(
        {key: {*s.after, *s.needs_steps} & steps.keys() for key, s in steps.items()}
    )
    try:
        sorter.prepare()
    except CycleError as error:
        circle = ", ".join(sorted(set(error.args[1]), key=first.__getitem__))
        raise PackError([f"Steps wait for each other in a circle: {circle}."]) from None
    in_order: list[str] = []
    ready: list[tuple[tuple[int, int], str]] = []
    while sorter.is_active():
        for key in sorter.get_ready():
            heappush(ready, (first[key], key))
        in_order.append(heappop(ready)[1])
        sorter.done(in_order[-1])
    return in_order
