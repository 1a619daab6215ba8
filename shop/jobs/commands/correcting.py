"""Correcting what was taken down at intake, and joining two jobs of one unit."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.jobs.commands.transaction import JobTransaction, job_transaction
from shop.jobs.commands.units import last_release, locked_unit, require_not_here
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.events.fields import LONGEST_NOTE
from shop.jobs.events.intake_corrected import IntakeCorrected
from shop.jobs.events.jobs_joined import JobsJoined
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.identity import identity_of
from shop.jobs.left_up import left_by, left_up
from shop.jobs.models import Job, Unit
from shop.jobs.record import Record
from shop.jobs.stages import Cover
from shop.lib import text
from shop.lib.refusals import refuse
from shop.lib.text import spaced

NAME = ("make", "model", "serial")
_LONGEST = {"make": 120, "model": 120, "serial": 120, "complaint": LONGEST_NOTE}


def correct_intake(
    number: int,
    *,
    by: User,
    at: datetime,
    make: str | None = None,
    model: str | None = None,
    serial: str | None = None,
    complaint: str | None = None,
    others: Mapping[str, Mapping[str, Any]] | None = None,
) -> Job:
    """Correct what was taken down at intake and return the job; None leaves a field as it is.

    The job goes to the unit of the corrected name, with what that unit's earlier jobs left up;
    other jobs of the unit that it was under keep their name. `others` are fields of another room,
    each as {"from": old, "to": new}. Refused as `already-here` when that unit has an open job,
    and when this job is closed. BadInput names what is wrong.
    """
    roles.require(by, IntakeCorrected.ability)
    given = {"make": make, "model": model, "serial": serial, "complaint": complaint}
    wanted = {
        field: text.take(field, value, _LONGEST[field])
        for field, value in given.items()
        if value is not None
    }
    with transaction.atomic():
        # The unit before the job, as at an intake: two at once wait for each other in one order.
        unit = _unit_by(number, wanted)
        with job_transaction(number, by=by, at=at) as tx:
            changes = _changes(tx.job, wanted) | dict(others or {})
            if changes:
                _correct(tx, changes, unit)
            return tx.job


def _unit_by(number: int, wanted: Mapping[str, str]) -> Unit | None:
    """Return the unit of the corrected name, locked where it is another; None when no name is given."""
    if not any(part in wanted for part in NAME):
        return None
    here = Unit.objects.get(jobs=number)
    name = {part: wanted.get(part, getattr(here, part)) for part in NAME}
    identity = identity_of(**name)
    alone = not here.jobs.exclude(pk=number).exists()
    if identity == here.identity or (not identity and alone):
        return here
    return locked_unit(**name)


def _changes(job: Job, wanted: Mapping[str, str]) -> dict[str, Any]:
    now = {part: getattr(job.unit, part) for part in NAME} | {"complaint": job.complaint}
    return {
        field: {"from": now[field], "to": value}
        for field, value in wanted.items()
        if value != now[field]
    }


def _correct(tx: JobTransaction, changes: dict[str, Any], unit: Unit | None) -> None:
    carried = None
    if unit is not None and unit.pk != tx.job.unit_id:
        require_not_here(unit)
        carried = sorted(left_up(unit)) or None
    tx.write(IntakeCorrected(changes=changes, carried=carried))
    if unit is not None:
        _move(tx, unit, {part: changes[part]["to"] for part in NAME if part in changes})


def _move(tx: JobTransaction, unit: Unit, name: Mapping[str, str]) -> None:
    """Put the job under the unit, spelled as corrected."""
    for part, value in name.items():
        setattr(unit, part, value)
    unit.identity = identity_of(unit.make, unit.model, unit.serial)
    unit.save(update_fields=[*NAME, "identity"])
    tx.job.unit = unit
    tx.job.__dict__.pop("twins", None)  # those of the unit that it was under
    if tx.job.returned_from is None:
        tx.job.returned_from = last_release(unit)
    tx.changed("unit", "returned_from")


def join(number: int, into: int, *, by: User, at: datetime) -> Job:
    """Close a job into another open job of the same unit, and return that.

    Mains is taken off both first. What is up in the one that is closed is up in the other; what
    was found and done in it is told by a note. Refused when they are not two open jobs of one unit.
    """
    roles.require(by, JobsJoined.ability)
    if number == into:
        raise refuse(
            "same-job", _("Job {number} cannot be joined into itself.").format(number=number)
        )
    with transaction.atomic():
        # Jobs are locked by number, whichever goes into the other.
        for one in sorted((number, into)):
            Job.objects.select_for_update().get(pk=one)
        with job_transaction(into, by=by, at=at) as kept:
            with job_transaction(number, by=by, at=at) as gone:
                _require_twins(gone.job, kept.job)
                _join(gone, kept)
            return kept.job


def _require_twins(gone: Job, kept: Job) -> None:
    if gone.unit_id != kept.unit_id:
        sentence = _("Job {gone} and job {kept} are not of one unit.").format(
            gone=gone.number, kept=kept.number
        )
        raise refuse(
            "another-unit",
            _("{sentence} Correct the intake of one of them first.").format(sentence=sentence),
        )
    for job in (gone, kept):
        if job.closed:
            raise refuse(
                "closed",
                _("Job {number} is closed; only open jobs are joined.").format(number=job.number),
            )


def _join(gone: JobTransaction, kept: JobTransaction) -> None:
    unplug = any(tx.job.energised or tx.job.unplug_due for tx in (gone, kept))
    for tx in (gone, kept):
        if tx.job.energised:
            tx.take_mains_off(because="two jobs of the unit are joined")
    carried = sorted(left_by(gone.record))
    if gone.job.cover == Cover.OFF and kept.job.cover == Cover.ON:
        kept.write(CoverRemoved(arrived_open=True))
    kept.write(JobsJoined(came_from=gone.job.number, carried=carried))
    kept.job.unplug_due = unplug
    told = _told(gone.record)
    if told:
        kept.write(NoteAdded(text=f"From job {gone.job.number}: {told}"))
    gone.write(JobsJoined(into=kept.job.number))


def _told(record: Record) -> str:
    """Return what was found, done and needed, and the complaint, in words."""
    needed = [f"{need.quantity} x {need.spec}" for need in record.needs if not need.fitted]
    told = {
        "the customer says": [record.job.complaint] if record.job.complaint else [],
        "found": [spaced(word) for word in record.findings],
        "work": [spaced(word) for word in record.work],
        "parts needed": needed,
    }
    return "; ".join(f"{what}: {', '.join(words)}" for what, words in told.items() if words)
