"""Taking a unit in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from checklists.engine.quoting import quoted
from checklists.engine.vocabulary import Value
from shop.accounts import roles
from shop.jobs.commands import intakes
from shop.jobs.commands.intakes import Intake, SheetFacts
from shop.jobs.commands.transaction import JobTransaction, job_transaction
from shop.jobs.commands.units import last_release, locked_unit, require_not_here
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.received import Received
from shop.jobs.left_up import left_up
from shop.jobs.models import Job, Unit
from shop.lib.refusals import bad


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
    name = {"make": make, "model": model, "serial": serial}
    texts = {**name, "reference": reference, "complaint": complaint, "note": note}
    intake = Intake.of(facts, arrived_open=arrived_open, **texts)
    try:
        with transaction.atomic():
            unit = locked_unit(**intake.name)
            job = _joined(unit, intake, by=by, at=at) if join else None
            if job is None:
                free = _free_reference(intake.taken["reference"])
                require_not_here(unit)
                sheet = intake.sheet(sheet_facts)
                job = _open(unit, intake, sheet, free, by=by, at=at)
    except IntegrityError as error:
        # Two imports of one file at once: the database let one of them through.
        if "reference" not in str(error):
            raise
        raise bad(
            "reference",
            _("reference {reference} was just taken.").format(reference=quoted(reference)),
        ) from None
    return job


def _open(
    unit: Unit,
    intake: Intake,
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
    intakes.write(tx, intake)
    intakes.write_sheet(tx, sheet, intake.facts)
    tx.leave()
    return job


def _joined(unit: Unit, intake: Intake, *, by: User, at: datetime) -> Job | None:
    """Write the intake to the open job of the unit and return it; None when there is none."""
    for number in unit.open_jobs():
        with job_transaction(number, by=by, at=at) as tx:
            # It may have been closed until its row was ours.
            if not tx.job.closed:
                _write_reference(tx, intake)
                intakes.write(tx, intake)
                return tx.job
    return None


def _free_reference(wanted: str) -> str | None:
    taken = Job.objects.filter(reference=wanted).first() if wanted else None
    if taken is not None:
        raise bad(
            "reference",
            _("reference {wanted} is already job {number}.").format(
                wanted=quoted(wanted), number=taken.number
            ),
        )
    return wanted or None


def _write_reference(tx: JobTransaction, intake: Intake) -> None:
    """Keep the number that somebody else gave the job; a second one is told by a note."""
    if intake.taken["reference"] == (tx.job.reference or ""):
        return
    wanted = _free_reference(intake.taken["reference"])
    if wanted and tx.job.reference:
        tx.write(NoteAdded(text=f"Came in again under reference {wanted}."))
    elif wanted:
        tx.job.reference = wanted
        tx.changed("reference")


def _write_received(tx: JobTransaction, intake: Intake) -> None:
    was_here = tx.job.unit.jobs.exclude(pk=tx.job.number).exists()
    carried = sorted(left_up(tx.job.unit)) if was_here else None
    tx.write(Received(**intake.name, returned_from=tx.job.returned_from_id, carried=carried))
