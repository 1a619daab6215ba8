"""A unit on its way through a history: what it is now, and how the next event changes it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from checklists.engine import exposures
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.deduced import with_deduced
from checklists.engine.derive import derive
from checklists.engine.doing import State
from checklists.engine.exposures import Hindrance
from checklists.engine.happenings import STARTS_AT, Happening
from checklists.engine.history import (
    DOUBTED,
    FACT,
    FINDING,
    SIGNED,
    WAIVED,
    WITHDRAWN,
    WORK,
    Event,
    History,
)
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import VOCABULARY, Facts
from checklists.engine.words import ISOLATED


@dataclass(frozen=True, slots=True)
class Soak:
    """The last soak: none, running, interrupted (mains went), passed or failed, and its hours."""

    state: str = "none"
    started: datetime | None = None
    hours: float = 0.0

    @classmethod
    def of(cls, events: Iterable[Happening]) -> Soak:
        """Return how the last soak stands after these events."""
        soak = cls()
        for event in events:
            if event.kind == "soak_started":
                soak = cls("running", event.at)
            elif event.kind == "power_removed" and soak.state == "running":
                soak = soak.ended("interrupted", event.at)
            elif event.kind == "soak_ended":
                soak = soak.ended("passed" if event.result == "pass" else "failed", event.at)
        return soak

    def ended(self, state: str, at: datetime | None) -> Soak:
        """Return it ended; the clock stops at the first end."""
        if self.state != "running" or self.started is None or at is None:
            return replace(self, state=state)
        return replace(self, state=state, hours=(at - self.started).total_seconds() / 3600)


@dataclass
class Walked:
    """One unit under one pack: what was given, what happened since, and its state now."""

    pack: Pack
    given: Facts
    state: State = field(default_factory=State)
    closed: bool = False
    # Nothing at all is known, not even that nothing was found: the most demanding unit there is.
    blank: bool = False
    happened: list[Happening] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    # Where event number N of those given stands in the history, and among what happened.
    rows: dict[int, int] = field(default_factory=dict)
    _checklist: Checklist | None = None

    @classmethod
    def begin(cls, pack: Pack, facts: Facts) -> Walked:
        """Return a unit of these facts to which nothing has happened yet."""
        known: Facts = {"job.returned": False, "job.beyond_agreed": False, **facts}
        power = str(facts.get("job.power", ISOLATED))
        unit = cls(pack, known, State(power, str(facts.get("job.cover", "on"))))
        unit.events = list(_told_at_intake(facts))
        return unit

    def copy(self) -> Walked:
        """Return a second unit to which the same has happened."""
        happened, events = list(self.happened), list(self.events)
        return replace(self, happened=happened, events=events, rows=dict(self.rows))

    @property
    def checklist(self) -> Checklist:
        """The checklist as it stands."""
        if self._checklist is None:
            self._checklist = derive(self.pack, with_deduced(self.facts), History.of(self.events))
        return self._checklist

    @property
    def facts(self) -> Facts:
        """All facts: those given, what was recorded since, and the state."""
        facts = dict(self.given)
        for event in self.valid():
            if event.kind == "fact_recorded":
                facts[event.name] = event.value
            elif event.to:
                facts["job.stage"] = event.to
        for name, said in (("findings", "finding"), ("work", "work")):
            words = [*_list(facts.get(name)), *(getattr(event, said) for event in self.valid())]
            known = list(dict.fromkeys(filter(None, words)))
            if known or not self.blank:
                facts[name] = known
        return {**facts, "job.power": self.state.power, "job.cover": self.state.cover}

    @property
    def soak(self) -> Soak:
        """The last soak."""
        return Soak.of(self.valid())

    @property
    def at(self) -> datetime:
        """When the last event was."""
        return next((e.at for e in reversed(self.happened) if e.at), STARTS_AT)

    def valid(self) -> list[Happening]:
        """Return what happened, without what was withdrawn since."""
        gone = {self.rows.get(event.row, 0) for event in self.happened if event.row}
        return [event for place, event in enumerate(self.happened, 1) if place not in gone]

    def write(self, event: Happening, number: int = 0) -> None:
        """Let an event take place; `number` counts the events that were given."""
        self.happened.append(event)
        if number:
            self.rows[number] = len(self.happened)
        self._change(event)
        self.events += self._told(event)
        self._checklist = None

    def _told(self, event: Happening) -> list[Event]:
        place = len(self.happened)
        events = [
            told(event, place, self._hash_of(event), self.rows.get(event.row or event.look, 0))
        ]
        if event.kind == "received" and event.open:
            events.append(Event(sequence=place, event_type="cover_removed", at=event.at))
        return events

    def _hash_of(self, event: Happening) -> str:
        listed = self.checklist.by_key.get(event.step) if event.step else None
        return listed.content_hash if listed else ""

    def _change(self, event: Happening) -> None:
        """Follow an event with power and cover."""
        if event.kind == "power_applied":
            self.state = replace(self.state, power=event.power)
        elif event.kind == DOUBTED:
            self.state = replace(self.state, treat_as_live=True)
        elif event.kind == "power_removed":
            self.state = State(cover=self.state.cover)
        elif event.kind == "cover_removed" or event.open:
            self.state = replace(self.state, cover="off")
        elif event.kind == "cover_fitted":
            self.state = replace(self.state, cover="on")
        self.closed = self.closed or event.kind in ("released", "withdrawn")

    def sign(self, steps: Iterable[ListedStep], at: datetime) -> None:
        """Sign steps as passed."""
        for listed in steps:
            signed = Happening(kind=SIGNED, step=listed.key, result="pass", at=at)
            self.happened.append(signed)
            self.events.append(told(signed, len(self.happened), listed.content_hash, 0))
        self._checklist = None

    def put(self, state: State) -> None:
        """Put the unit into a state, whatever led there."""
        self.state = state
        self._checklist = None

    def unsign(self, keys: Iterable[str]) -> None:
        """Take all sign-offs of these steps away."""
        self.events = [event for event in self.events if event.step not in keys]
        self._checklist = None

    def met(self) -> list[Hindrance]:
        """Return what meets the power that the unit has."""
        if not self.state.energised:
            return []
        running = self.soak.state == "running"
        power = exposures.of_power(self.state.power, cover_off=self.state.open, soaking=running)
        return exposures.lasting(power, self.checklist)

    def fall(self) -> None:
        """Take mains off on the record; until somebody records the plug as out it may be on."""
        self.write(Happening(kind="power_removed", at=self.at))
        self.state = replace(self.state, treat_as_live=True)


def _told_at_intake(facts: Facts) -> Iterable[Event]:
    """Return what was known at the start as it stands in a record: it raises what it raises."""
    for name, value in facts.items():
        if name == "findings":
            yield from (Event(sequence=0, event_type=FINDING, finding=w) for w in _list(value))
        elif name == "work":
            yield from (Event(sequence=0, event_type=WORK, work=word) for word in _list(value))
        elif not VOCABULARY[name].computed:
            yield Event(sequence=0, event_type=FACT, fact=name, value=value)


def told(event: Happening, sequence: int, content_hash: str = "", row: int = 0) -> Event:
    """Return what the history keeps of an event."""
    result = "waived" if event.kind == WAIVED else event.result
    return Event(
        sequence=sequence,
        event_type=event.kind,
        at=event.at,
        work=event.work,
        finding=event.finding,
        section=event.section,
        fact=event.name,
        value=event.value if event.name else None,
        power=event.power,
        stage=event.to,
        step=event.step,
        result=result,
        content_hash=content_hash,
        row=row if event.kind == WITHDRAWN else 0,
        look=row if event.kind == WAIVED else 0,
        done_at=event.done_at,
        from_outside=event.from_outside,
    )


def _list(value: object) -> list[str]:
    return value if isinstance(value, list) else []
