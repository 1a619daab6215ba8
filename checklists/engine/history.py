"""What has happened to a job, reduced to what the validity of sign-offs needs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

SIGNED = "step_signed"
WAIVED = "step_waived"
_TOUCHING = frozenset({"cover_removed", "work_done", "part_fitted"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One row of a job's record.

    `step`, `result`, `content_hash` belong to sign-offs and waivers ("pass", "fail",
    "not-applicable", "waived"); `work` and `section` to work done, `finding` and `section` to a finding;
    `by` is who recorded it.
    """

    sequence: int
    event_type: str
    by: str = ""
    work: str = ""
    finding: str = ""
    section: str = ""
    step: str = ""
    result: str = ""
    content_hash: str = ""
    # What happened cannot be told: of an unknown type, or without the word that says what.
    unreadable: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Invalidation:
    """A type of event that ends a sign-off, narrowed by work, finding or section."""

    event_type: str
    work: frozenset[str] = frozenset()
    finding: frozenset[str] = frozenset()
    section: frozenset[str] = frozenset()
    # Sections where it does no harm. Sections are free text, so naming the harmless ones is the
    # way that fails closed: a spelling nobody thought of still ends the sign-off.
    except_section: frozenset[str] = frozenset()

    def applies_to(self, event: Event) -> bool:
        """Tell whether this event ends a sign-off that came before it.

        Work whose section was left empty could be anywhere, so it ends the sign-off. What cannot
        be read could be anything, so it ends every one that an event can end.
        """
        if event.unreadable:
            return True
        if event.event_type != self.event_type:
            return False
        if self.work and event.work not in self.work:
            return False
        if self.finding and event.finding not in self.finding:
            return False
        if event.section and event.section in self.except_section:
            return False
        return not self.section or not event.section or event.section in self.section

    def sentence(self) -> str:
        """Say it in words: 'work_done (relay-replaced, relay-cleaned)'."""
        narrowed = [
            *sorted(self.work | self.finding),
            *(f"section {s}" for s in sorted(self.section)),
        ]
        return f"{self.event_type} ({', '.join(narrowed)})" if narrowed else self.event_type


@dataclass(frozen=True, slots=True)
class History:
    """All events of a job in order, sorted once into what `derive` asks for."""

    events: tuple[Event, ...] = ()
    signoffs: dict[str, list[Event]] = field(default_factory=dict)
    others: tuple[Event, ...] = ()

    @classmethod
    def of(cls, events: Iterable[Event]) -> History:
        """Build from events in ascending sequence."""
        in_order = tuple(events)
        signoffs: dict[str, list[Event]] = {}
        others: list[Event] = []
        for event in in_order:
            if event.event_type in (SIGNED, WAIVED) and not event.unreadable:
                signoffs.setdefault(event.step, []).append(event)
            else:
                others.append(event)
        return cls(in_order, signoffs, tuple(others))

    @property
    def touched(self) -> bool:
        """Whether the unit has been opened or worked on in this job."""
        return any(event.event_type in _TOUCHING for event in self.others)

    def invalidated_after(
        self, sequence: int, invalidations: tuple[Invalidation, ...]
    ) -> Event | None:
        """Return the first event after `sequence` to which one of the invalidations applies."""
        for event in self.others:
            if event.sequence > sequence and any(i.applies_to(event) for i in invalidations):
                return event
        return None


NOTHING_YET = History()
