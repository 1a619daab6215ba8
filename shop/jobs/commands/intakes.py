"""What is taken down when a unit comes in: looked at, and written to the record of a job."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias, TypedDict

from django.utils.translation import gettext as _

from checklists.engine.vocabulary import OTHER, VOCABULARY, FactError, Facts, Value, accept
from shop.jobs.commands.transaction import JobTransaction
from shop.jobs.events.base import Event
from shop.jobs.events.complaint_recorded import ComplaintRecorded
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.events.fact_recorded import FactRecorded
from shop.jobs.events.fields import LONGEST_NOTE
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.reading import build
from shop.jobs.events.work_done import WorkDone
from shop.jobs.stages import Cover
from shop.lib import text
from shop.lib.refusals import BadInput

SheetFacts: TypeAlias = Callable[[str, str], Mapping[str, tuple[Value, str]]]

TYPED_AT_INTAKE = ("findings", "work")


class UnitName(TypedDict):
    """What a unit goes by."""

    make: str
    model: str
    serial: str


@dataclass(frozen=True)
class Intake:
    """What was typed, each field looked at."""

    taken: dict[str, str]
    facts: Facts
    arrived_open: bool = False

    @property
    def name(self) -> UnitName:
        """Make, model and serial number."""
        taken = self.taken
        return {"make": taken["make"], "model": taken["model"], "serial": taken["serial"]}

    def sheet(self, facts_for: SheetFacts | None) -> Mapping[str, tuple[Value, str]]:
        """Return what the service data say of its make and model."""
        return facts_for(self.taken["make"], self.taken["model"]) if facts_for else {}

    @classmethod
    def of(cls, facts: Mapping[str, Any] | None, *, arrived_open: bool, **texts: str) -> Intake:
        """Look at every field; BadInput names each that is wrong."""
        return cls(_taken(**texts), _facts(facts or {}), arrived_open)


def _taken(**given: str) -> dict[str, str]:
    problems: list[tuple[str, str]] = []
    taken: dict[str, str] = {}
    for name, value in given.items():
        longest = LONGEST_NOTE if name in ("complaint", "note") else 120
        try:
            taken[name] = text.take(name, value, longest)
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return taken


def _facts(given: Mapping[str, Any]) -> Facts:
    problems = [
        (
            name,
            _("{name} follows from the record of the job; it is not typed in.").format(name=name),
        )
        for name in given
        if name in VOCABULARY and VOCABULARY[name].computed and name not in TYPED_AT_INTAKE
    ]
    try:
        facts = accept(given)
    except FactError as error:
        problems += error.problems
    if problems:
        raise BadInput(problems)
    return facts


def write(tx: JobTransaction, intake: Intake) -> None:
    """Write all of it but whose name it goes by: cover, complaint, facts, findings, work and note."""
    taken = intake.taken
    if intake.arrived_open and tx.job.cover == Cover.ON:
        tx.write(CoverRemoved(arrived_open=True))
    if taken["complaint"]:
        tx.write(ComplaintRecorded(text=taken["complaint"]))
    for event in _facts_as_events(intake.facts, taken["note"]):
        tx.write(event)
    if taken["note"]:
        tx.write(NoteAdded(text=taken["note"]))


def _facts_as_events(facts: Facts, note: str) -> Iterator[Event]:
    for name, value in facts.items():
        if name == "findings":
            told = [{"finding": word, **_told(word, note)} for word in _words(value)]
            yield from (build(FindingRecorded, data) for data in told)
        elif name == "work":
            # Whoever brings it tells what was done: no hand of ours goes in for it.
            done = [{"work": w, "before": True, **_told(w, note)} for w in _words(value)]
            yield from (build(WorkDone, data) for data in done)
        else:
            yield FactRecorded(name=name, value=value)


def _told(word: str, note: str) -> dict[str, str]:
    """Return the note that says what another finding or other work is."""
    return {"note": note} if word == OTHER else {}


def _words(value: Value) -> list[str]:
    return value if isinstance(value, list) else []


def write_sheet(tx: JobTransaction, sheet: Mapping[str, tuple[Value, str]], given: Facts) -> None:
    """Write what the model sheet knows and nobody said otherwise, each fact with its source."""
    for name, (value, source) in sheet.items():
        if name not in given:
            tx.write(FactRecorded(name=name, value=value, source=f"model sheet: {source}"))
