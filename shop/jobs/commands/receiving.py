"""Taking a unit in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, TypeAlias

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from checklists.engine.quoting import quoted
from checklists.engine.vocabulary import VOCABULARY, FactError, Facts, Value, accept
from shop.accounts import roles
from shop.jobs.commands.transaction import JobTransaction
from shop.jobs.events.complaint_recorded import ComplaintRecorded
from shop.jobs.events.fact_recorded import FactRecorded
from shop.jobs.events.fields import LONGEST_NOTE
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.received import Received
from shop.jobs.events.work_done import WorkDone
from shop.jobs.models import Job, Unit
from shop.jobs.stages import Stage
from shop.lib import text
from shop.lib.refusals import BadInput, bad

SheetFacts: TypeAlias = Callable[[str, str], Mapping[str, tuple[Value, str]]]

_TYPED_AT_INTAKE = ("findings", "work")


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
    sheet_facts: SheetFacts | None = None,
) -> Job:
    """Open a job for a unit and return it.

    A unit with the same make, model and serial that was released before makes this a returned
    job. Facts that are not given stay unknown, but for what `sheet_facts` says of the make
    and model: the service data, each value with its source. BadInput names every field that is wrong.
    """
    roles.require(by, Received.ability)
    taken = _taken(make=make, model=model, serial=serial, complaint=complaint, note=note)
    known = _facts(facts or {})
    try:
        with transaction.atomic():
            sheet = sheet_facts(taken["make"], taken["model"]) if sheet_facts else {}
            job = _open(taken, known, sheet, reference, by=by, at=at)
    except IntegrityError as error:
        # Two imports of one file at once: the database let one of them through.
        if "reference" not in str(error):
            raise
        raise bad("reference", f"reference {quoted(reference)} was just taken.") from None
    return job


def _open(
    taken: dict[str, str],
    known: Facts,
    sheet: Mapping[str, tuple[Value, str]],
    reference: str,
    *,
    by: User,
    at: datetime,
) -> Job:
    unit, earlier = _unit(taken["make"], taken["model"], taken["serial"])
    job = Job(
        unit=unit,
        complaint=taken["complaint"],
        reference=_free_reference(reference),
        returned_from=earlier,
        received_at=at,
        stage_since=at,
    )
    job.save(force_insert=True)
    tx = JobTransaction(job, [], by=by, at=at)
    _write_intake(tx, taken, known)
    _write_sheet(tx, sheet, known)
    tx.leave()
    return job


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
        if name in VOCABULARY and VOCABULARY[name].computed and name not in _TYPED_AT_INTAKE
    ]
    try:
        facts = accept(given)
    except FactError as error:
        problems += error.problems
    if problems:
        raise BadInput(problems)
    return facts


def _unit(make: str, model: str, serial: str) -> tuple[Unit, Job | None]:
    """Return the unit, and the earlier job it comes back from; without a serial it is a new one."""
    if not serial:
        return Unit.objects.create(make=make, model=model), None
    known = Unit.objects.filter(serial=serial, make=make, model=model).first()
    if known is None:
        return Unit.objects.create(make=make, model=model, serial=serial), None
    earlier = known.jobs.filter(stage=Stage.RELEASED.value).order_by("-number").first()
    return known, earlier


def _free_reference(reference: str) -> str | None:
    wanted = text.take("reference", reference, 120)
    taken = Job.objects.filter(reference=wanted).first() if wanted else None
    if taken is not None:
        raise bad("reference", f"reference {quoted(wanted)} is already job {taken.number}.")
    return wanted or None


def _write_intake(tx: JobTransaction, taken: dict[str, str], facts: Facts) -> None:
    unit = {name: taken[name] for name in ("make", "model", "serial")}
    tx.write(Received(**unit, returned_from=tx.job.returned_from_id))
    if taken["complaint"]:
        tx.write(ComplaintRecorded(text=taken["complaint"]))
    for name, value in facts.items():
        if name == "findings":
            for word in _words(value):
                tx.write(FindingRecorded(finding=word))
        elif name == "work":
            for word in _words(value):
                tx.write(WorkDone(work=word))
        else:
            tx.write(FactRecorded(name=name, value=value))
    if taken["note"]:
        tx.write(NoteAdded(text=taken["note"]))


def _words(value: Value) -> list[str]:
    return value if isinstance(value, list) else []


def _write_sheet(tx: JobTransaction, sheet: Mapping[str, tuple[Value, str]], given: Facts) -> None:
    """Write what the model sheet knows and nobody said otherwise, each fact with its source."""
    for name, (value, source) in sheet.items():
        if name not in given:
            tx.write(FactRecorded(name=name, value=value, source=f"model sheet: {source}"))
