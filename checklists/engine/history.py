"""What has happened to a job, reduced to what hazards and the validity of sign-offs need."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from checklists.engine.deduced import RESTS_ON
from checklists.engine.vocabulary import Facts, Value

MOST_KEPT = 64  # histories that are kept: a shop looks at a dozen jobs at once

SIGNED = "step_signed"
WAIVED = "step_waived"
FACT = "fact_recorded"
FINDING = "finding_recorded"
WORK = "work_done"
FITTED = "part_fitted"
NIGHT = "night_passed"
STARTED = "soak_started"
WITHDRAWN = "entry_withdrawn"
MAINS_ON = "power_applied"
# The plug may have been in: what mains on raises and ends, this does too.
DOUBTED = "plug_doubted"
WORKED = frozenset({WORK, FITTED})
_TOUCHING = (WORK, FITTED, "cover_removed")
# What a waiver after a fail may rest on, besides another try at the step itself.
LOOKS = frozenset({FACT, "reading_taken"})
# Rows that a correction may withdraw. Mains, cover, stage, parts, permits and the start and end of a
# soak are what was so.
WITHDRAWABLE = frozenset(
    {
        FINDING,
        "trial_run",
        WORK,
        "reading_taken",
        "curve_measured",
        "soak_reading",
        "note_added",
        "complaint_recorded",
        FACT,
        "suspect_changed",
        SIGNED,
        WAIVED,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One row of a job's record.

    `step`, `result`, `content_hash` belong to sign-offs and waivers ("pass", "fail",
    "not-applicable", "waived"); `work` and `section` to work done, `finding` and `section` to a
    finding, `fact` and `value` to a fact, `power` to mains that came on, `stage` to a stage;
    `carried` names the hazards that an earlier job of the unit left up. `by` is who recorded it.
    """

    sequence: int
    event_type: str
    at: datetime | None = None
    by: str = ""
    work: str = ""
    finding: str = ""
    section: str = ""
    fact: str = ""
    value: Value | None = None
    power: str = ""
    stage: str = ""
    step: str = ""
    result: str = ""
    content_hash: str = ""
    carried: frozenset[str] = frozenset()
    # The row that a correction withdraws.
    row: int = 0
    # The row of the new look that a waiver rests on; 0 where it names none.
    look: int = 0
    # When work that is told late was done.
    done_at: datetime | None = None
    # Work with the cover on: at what can be reached from outside.
    from_outside: bool = False
    # What happened cannot be told: of an unknown type, or without the word that says what.
    unreadable: bool = False

    @property
    def wild(self) -> bool:
        """Whether it may count for more than its own type says."""
        return self.unreadable or self.event_type == DOUBTED or bool(self.carried)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trigger:
    """A type of event that raises a hazard or ends a sign-off, and what narrows it.

    Every part that is left empty admits everything. Work whose section was left empty could be
    anywhere, so it counts. What cannot be read could be anything, so it counts everywhere.
    """

    event_type: str
    work: frozenset[str] = frozenset()
    finding: frozenset[str] = frozenset()
    section: frozenset[str] = frozenset()
    # Sections where it does no harm. Sections are free text, so naming the harmless ones is the
    # way that fails closed: a spelling nobody thought of still counts.
    except_section: frozenset[str] = frozenset()
    # A fact, and the values or words of it that count; none: every value.
    fact: str = ""
    values: frozenset[str] = frozenset()
    power: frozenset[str] = frozenset()
    stage: frozenset[str] = frozenset()
    # Work done from outside leaves the inside as it was.
    inside: bool = False

    def applies_to(self, event: Event) -> bool:
        """Tell whether this event is one of those."""
        if event.unreadable:
            return True
        if event.event_type == DOUBTED and self.event_type == MAINS_ON:
            return True
        if event.event_type != self.event_type or (self.inside and event.from_outside):
            return False
        if not (_admits(self.work, event.work) and _admits(self.finding, event.finding)):
            return False
        if not (_admits(self.power, event.power) and _admits(self.stage, event.stage)):
            return False
        return self._section_counts(event.section) and self._value_counts(event)

    def _section_counts(self, section: str) -> bool:
        if section and section in self.except_section:
            return False
        return not self.section or not section or section in self.section

    def _value_counts(self, event: Event) -> bool:
        if not self.fact:
            return True
        if event.fact != self.fact:
            return False
        words = event.value if isinstance(event.value, list) else [_word(event.value)]
        return not self.values or not self.values.isdisjoint(words)

    def sentence(self) -> str:
        """Say it in words: 'work_done (relay-replaced, relay-cleaned)'."""
        narrowed = ", ".join(self.narrowed())
        return f"{self.event_type} ({narrowed})" if narrowed else self.event_type

    def narrowed(self) -> list[str]:
        """Return the words that narrow the event."""
        return [
            *sorted(self.work | self.finding | self.power | self.stage),
            *(f"section {s}" for s in sorted(self.section)),
            *([self.fact] if self.fact else []),
            *sorted(self.values),
        ]


def _admits(wanted: frozenset[str], word: str) -> bool:
    return not wanted or word in wanted


def _word(value: Value | None) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _placed(events: Iterable[Event]) -> dict[str, list[int]]:
    places: dict[str, list[int]] = {}
    for place, event in enumerate(events):
        places.setdefault(event.event_type, []).append(place)
    return places


def _facts_said(events: Iterable[Event]) -> dict[str, list[Event]]:
    said: dict[str, list[Event]] = {}
    for event in events:
        if event.event_type == FACT:
            said.setdefault(event.fact, []).append(event)
    return said


def _up_to(sequence: int, events: Sequence[Event]) -> int:
    """Count the events up to a row; they are in order."""
    return bisect_right(events, sequence, key=lambda event: event.sequence)


def _looks(event: Event, step: str) -> bool:
    """Whether somebody looked: a reading, a fact, or another try at this step."""
    tried = event.event_type == SIGNED and event.step == step
    return (tried or event.event_type in LOOKS) and not event.unreadable


def _rests_on_a_look(
    waiver: Event, unproved: Mapping[str, int], standing: Mapping[int, Event]
) -> bool:
    """Whether a waiver may follow what was before it: after a fail it names what was seen since."""
    since = unproved.get(waiver.step)
    if since is None:
        return True
    look = standing.get(waiver.look)
    return (
        look is not None and since < look.sequence < waiver.sequence and _looks(look, waiver.step)
    )


def _move_on(unproved: dict[str, int], signoff: Event) -> None:
    """A pass settles an earlier fail; a waiver leaves it, and the next one needs a look of its own."""
    if signoff.event_type == WAIVED and signoff.step in unproved:
        unproved[signoff.step] = signoff.sequence
    elif signoff.result in ("pass", "not-applicable"):
        unproved.pop(signoff.step, None)


@dataclass(frozen=True, slots=True)
class History:
    """All events of a job in order, sorted once into what `derive` asks for."""

    events: tuple[Event, ...] = ()
    signoffs: dict[str, list[Event]] = field(default_factory=dict)
    others: tuple[Event, ...] = ()
    # Steps whose fail was withdrawn and that were not signed since.
    unsettled: frozenset[str] = frozenset()
    # Steps that failed and were not passed since, each with the row after which a look is new.
    unproved: dict[str, int] = field(default_factory=dict)
    # Places in `others` by type of event, and of those that may count as any type.
    places: dict[str, list[int]] = field(default_factory=dict)
    wild: tuple[int, ...] = ()
    # Facts that were recorded, each by its name.
    facts_said: dict[str, list[Event]] = field(default_factory=dict)
    # What was derived of it last, by what else it depends on: `derive` keeps it here.
    derived: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def of(cls, events: Iterable[Event]) -> History:
        """Build from events in ascending sequence.

        A sign-off that was withdrawn is none, and gives none before it back. A waiver after a
        fail is none either, unless it rests on a new look.
        """
        in_order = tuple(events)
        # By the very same events: a ledger that was read again has them.
        key = tuple(map(id, in_order))
        found = _KEPT.get(key)
        if found is None:
            if len(_KEPT) >= MOST_KEPT:
                _KEPT.clear()
            found = _KEPT[key] = cls._of(in_order)
        return found

    @classmethod
    def _of(cls, in_order: tuple[Event, ...]) -> History:
        withdrawn = {event.row for event in in_order if event.event_type == WITHDRAWN}
        standing = {event.sequence: event for event in in_order if event.sequence not in withdrawn}
        signoffs: dict[str, list[Event]] = {}
        others: list[Event] = []
        unsettled: set[str] = set()
        unproved: dict[str, int] = {}
        for event in in_order:
            if event.event_type not in (SIGNED, WAIVED) or event.unreadable:
                others.append(event)
                continue
            if event.result == "fail":
                unproved.setdefault(event.step, event.sequence)
            if event.sequence in withdrawn:
                signoffs.pop(event.step, None)
                unsettled |= {event.step} if event.result == "fail" else set()
            elif event.event_type == SIGNED or _rests_on_a_look(event, unproved, standing):
                signoffs.setdefault(event.step, []).append(event)
                unsettled.discard(event.step)
                _move_on(unproved, event)
        wild = tuple(place for place, event in enumerate(others) if event.wild)
        return cls(
            *(in_order, signoffs, tuple(others), frozenset(unsettled), unproved),
            *(_placed(others), wild, _facts_said(others)),
        )

    def new_looks(self, step: str) -> list[int]:
        """Return the rows that a waiver of a step that failed may rest on, oldest first."""
        since = self.unproved.get(step, 0)
        withdrawn = {event.row for event in self.events if event.event_type == WITHDRAWN}
        return [
            event.sequence
            for event in self.events
            if event.sequence > since and event.sequence not in withdrawn and _looks(event, step)
        ]

    @property
    def failed(self) -> frozenset[str]:
        """Keys of the steps whose last sign-off is a fail, also when that fail was withdrawn."""
        last = {key: signoffs[-1].result for key, signoffs in self.signoffs.items() if signoffs}
        return self.unsettled.union(key for key, result in last.items() if result == "fail")

    @property
    def touched(self) -> bool:
        """Whether the unit has been opened or worked on inside, in this job or before it."""
        return any(_touches(event) for event in self.of_types(_TOUCHING))

    def of_types(self, types: Iterable[str], facts: Iterable[str] = ()) -> list[Event]:
        """Return the events of some types, of some facts, and those that may count as any type."""
        found = [self.others[place] for place in self.wild]
        for one in types:
            found += [self.others[place] for place in self.places.get(one, ())]
        for fact in facts:
            found += self.facts_said.get(fact, ())
        return found

    def ends_after(
        self,
        sequence: int,
        triggers: tuple[Trigger, ...],
        spared: Event | None = None,
        *,
        hazards: frozenset[str] = frozenset(),
    ) -> Event | None:
        """Return the first event after a row to which one of the triggers applies.

        An event that carries one of these `hazards` over from another job counts as well.
        `spared` is the sign-off of a test of the closed unit: work that is told late does not
        end it when it was signed after the work was done.
        """
        types = {trigger.event_type for trigger in triggers}
        for event in self._may_end(sequence, types):
            if spared and _done_before(event, spared):
                continue
            if not hazards.isdisjoint(event.carried):
                return event
            if any(trigger.applies_to(event) for trigger in triggers):
                return event
        return None

    def _may_end(self, after: int, types: Iterable[str]) -> list[Event]:
        """Return the events after a row that are, or may count as, one of these types, in order."""
        first = _up_to(after, self.others)
        candidates = (self.wild, *(self.places.get(one, ()) for one in types))
        places = {place for found in candidates for place in found if place >= first}
        return [self.others[place] for place in sorted(places)]

    def facts_at(self, sequence: int, names: Iterable[str], now: Mapping[str, Value]) -> Facts:
        """Return these facts as they were known right after a row.

        Findings and work come from their events, other facts from the last time they were
        recorded. A fact that no event recorded is as it is `now`; one that was deduced was not
        known before that which it rests on.
        """
        facts: Facts = {}
        for name in names:
            value = self._value_at(sequence, name, now)
            if value is not None:
                facts[name] = value
        return facts

    def _value_at(self, sequence: int, name: str, now: Mapping[str, Value]) -> Value | None:
        if name in ("findings", "work"):
            spoken = self._said(name)
            words = [e.finding or e.work for e in spoken[: _up_to(sequence, spoken)]]
            return words if words or spoken else now.get(name)
        said = self.facts_said.get(name, [])
        known = _up_to(sequence, said)
        if known:
            return said[known - 1].value
        rests_on = RESTS_ON.get(name)
        if said or (rests_on and self._value_at(sequence, rests_on, now) is None):
            return None
        return now.get(name)

    def _said(self, name: str) -> list[Event]:
        wanted = FINDING if name == "findings" else WORK
        return [self.others[place] for place in self.places.get(wanted, ())]


def _touches(event: Event) -> bool:
    inside = event.event_type in WORKED and not event.from_outside
    return event.event_type == "cover_removed" or inside


def _done_before(event: Event, signoff: Event) -> bool:
    known = event.done_at is not None and signoff.at is not None
    return known and event.done_at < signoff.at  # type: ignore[operator]


NOTHING_YET = History()
# By the identities of their events, which they hold.
_KEPT: dict[tuple[int, ...], History] = {}
