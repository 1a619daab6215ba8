"""Taking a unit in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeAlias

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from checklists.engine.quoting import quoted
from checklists.engine.vocabulary import OTHER, VOCABULARY, FactError, Facts, Value, accept
from shop.accounts import roles
from shop.jobs.commands.transaction import JobTransaction, job_transaction
from shop.jobs.commands.units import last_release, locked_unit, require_not_here
from shop.jobs.events.base import Event
from shop.jobs.events.complaint_recorded import ComplaintRecorded
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.events.fact_recorded import FactRecorded
from shop.jobs.events.fields import LONGEST_NOTE
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.reading import build
from shop.jobs.events.received import Received
from shop.jobs.events.work_done import WorkDone
from shop.jobs.left_up import left_up
from shop.jobs.models import Job, Unit
from shop.jobs.stages import Cover
from shop.lib import text
from shop.lib.refusals import BadInput, bad

SheetFacts: TypeAlias = Callable[[str, str], Mapping[str, tuple[Value, str]]]

TYPED_AT_INTAKE = ("findings", "work")


@dataclass(frozen=True)
class _Intake:
    """What was typed, each field looked at."""

    taken: dict[str, str]
    facts: Facts
    arrived_open: bool


def receive(
    *,
    by: User,
    at: datetime,
    make: str = "",
    model: str = "",
    serial: str = "",
    complaint: str = "",
    facts: Mapping[str, Any] | None = None,
    reference: str = "",
    note: str = "",
    arrived_open: bool = False,
    join: bool = False,
    sheet_facts: SheetFacts | None = None,
) -> Job:
    """Open a job for a unit and return it.

    A unit that has an open job is refused as `already-here`; with `join` what is given is written
    to that job, which is returned. A unit that was here before brings the hazards along that its
    earlier jobs left up; one that was released before makes this a returned job. `arrived_open`
    says that it came without its cover. Facts that are not given stay unknown, but for what
    `sheet_facts` says of the make and model: the service data, each value with its source.
    BadInput names every field that is wrong.
    """
    roles.require(by, Received.ability)
    given = {"make": make, "model": model, "serial": serial, "reference": reference}
    taken = _taken(**given, complaint=complaint, note=note)
    intake = _Intake(taken, _facts(facts or {}), arrived_open)
    try:
        with transaction.atomic():
            unit = locked_unit(taken["make"], taken["model"], taken["serial"])
            job = _joined(unit, intake, by=by, at=at) if join else None
            if job is None:
                free = _free_reference(taken["reference"])
                require_not_here(unit)
                sheet = sheet_facts(taken["make"], taken["model"]) if sheet_facts else {}
                job = _open(unit, intake, sheet, free, by=by, at=at)
    except IntegrityError as error:
        # Two imports of one file at once: the database let one of them through.
        if "reference" not in str(error):
            raise
        raise bad("reference", f"reference {quoted(reference)} was just taken.") from None
    return job


def _open(
    unit: Unit,
    intake: _Intake,
    sheet: Mapping[str, tuple[Value, str]],
    reference: str | None,
    *,
    by: User,
    at: datetime,
) -> Job:
    job = Job(
        unit=unit,
        complaint=intake.taken["complaint"],
        reference=reference,
        returned_from=last_release(unit),
        received_at=at,
        stage_since=at,
    )
    job.save(force_insert=True)
    tx = JobTransaction(job, [], by=by, at=at)
    _write_received(tx, intake)
    _write_intake(tx, intake)
    _write_sheet(tx, sheet, intake.facts)
    tx.leave()
    return job


def _joined(unit: Unit, intake: _Intake, *, by: User, at: datetime) -> Job | None:
    """Write the intake to the open job of the unit and return it; None when there is none."""
    for number in unit.open_jobs():
        with job_transaction(number, by=by, at=at) as tx:
            # It may have been closed until its row was ours.
            if not tx.job.closed:
                _write_reference(tx, intake)
                _write_intake(tx, intake)
                return tx.job
    return None


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
        (name, f"{name} follows from the record of the job; it is not typed in.")
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


def _free_reference(wanted: str) -> str | None:
    taken = Job.objects.filter(reference=wanted).first() if wanted else None
    if taken is not None:
        raise bad("reference", f"reference {quoted(wanted)} is already job {taken.number}.")
    return wanted or None


def _write_reference(tx: JobTransaction, intake: _Intake) -> None:
    """Keep the number that somebody else gave the job; a second one is told by a note."""
    if intake.taken["reference"] == (tx.job.reference or ""):
        return
    wanted = _free_reference(intake.taken["reference"])
    if wanted and tx.job.reference:
        tx.write(NoteAdded(text=f"Came in again under reference {wanted}."))
    elif wanted:
        tx.job.reference = wanted
        tx.changed("reference")


def _write_received(tx: JobTransaction, intake: _Intake) -> None:
    name = {part: intake.taken[part] for part in ("make", "model", "serial")}
    was_here = tx.job.unit.jobs.exclude(pk=tx.job.number).exists()
    carried = sorted(left_up(tx.job.unit)) if was_here else None
    tx.write(Received(**name, returned_from=tx.job.returned_from_id, carried=carried))


def _write_intake(tx: JobTransaction, intake: _Intake) -> None:
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


def _write_sheet(tx: JobTransaction, sheet: Mapping[str, tuple[Value, str]], given: Facts) -> None:
    """Write what the model sheet knows and nobody said otherwise, each fact with its source."""
    for name, (value, source) in sheet.items():
        if name not in given:
            tx.write(FactRecorded(name=name, value=value, source=f"model sheet: {source}"))
