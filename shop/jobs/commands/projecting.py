"""Writes the tables that follow the ledgers, so that lists across jobs read one query."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from checklists.engine.history import WITHDRAWN
from shop.jobs import events
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.events.intake_corrected import IntakeCorrected
from shop.jobs.events.stored import Data
from shop.jobs.models import Job, JobCause, JobPart, JobReading, LedgerRow, StageVisit
from shop.jobs.needs import Need


def follow(tx: Transaction, written: Sequence[tuple[Event, LedgerRow]]) -> None:
    """Write every table that an event of this transaction has for a follower."""
    wanted = {follower for event, _ in written for follower in event.followers}
    for follower, write in _WRITERS.items():
        if follower in wanted:
            write(tx, [row for _, row in written])


def _stages(tx: Transaction, written: Sequence[LedgerRow]) -> None:
    """Close the open stay when the stage has changed, and begin the next one."""
    job, stay = tx.job, StageVisit.objects.filter(job=tx.job, left_at=None).first()
    if stay is not None and stay.stage == job.stage:
        return
    if stay is not None:
        stay.left_at, stay.to, stay.kind = tx.at, str(job.stage), job.kind
        stay.save(update_fields=["left_at", "to", "kind"])
    if not job.closed:
        StageVisit.objects.create(job=job, stage=str(job.stage), kind=job.kind, entered_at=tx.at)


def _parts(tx: Transaction, written: Sequence[LedgerRow]) -> None:
    """Write each need as the ledger has it."""
    known = {part.need: part for part in JobPart.objects.filter(job=tx.job)}
    for need in tx.record.needs:
        part = known.get(need.sequence) or JobPart(job=tx.job, need=need.sequence, needed_at=tx.at)
        # A unit that leaves unrepaired waits for no part.
        _take(part, need, closed=tx.job.closed or tx.record.estimate == "no")
        part.save()


def _causes(tx: Transaction, written: Sequence[LedgerRow]) -> None:
    """Write the causes that stand confirmed, and take away those that no longer do."""
    job, suspects = tx.job, tx.record.suspects
    confirmed = {key for key, state in suspects.items() if state == "confirmed"}
    JobCause.objects.filter(job=job).exclude(suspect__in=confirmed).delete()
    for suspect in confirmed:
        JobCause.objects.update_or_create(job=job, suspect=suspect, defaults={"kind": job.kind})


def _readings(tx: Transaction, written: Sequence[LedgerRow]) -> None:
    """Write what was measured, and take out what was withdrawn."""
    withdrawn = [row.data["row"] for row in written if row.event_type == WITHDRAWN]
    if withdrawn:
        JobReading.objects.filter(job=tx.job, row__in=withdrawn).delete()
    if any(row.event_type == IntakeCorrected.event_type for row in written):
        unit = tx.job.unit
        JobReading.objects.filter(job=tx.job).update(make=unit.make, model=unit.model)
    made = [
        _reading(tx.job, row.sequence, reading)
        for row in written
        for reading in events.measured(row)
    ]
    if made:
        JobReading.objects.bulk_create(made)


_WRITERS: dict[Follower, Callable[[Transaction, Sequence[LedgerRow]], None]] = {
    Follower.STAGES: _stages,
    Follower.READINGS: _readings,
    Follower.CAUSES: _causes,
    Follower.PARTS: _parts,
}


def _reading(job: Job, sequence: int, data: Data) -> JobReading:
    return JobReading(
        job=job,
        row=sequence,
        make=job.unit.make,
        model=job.unit.model,
        quantity=data["quantity"],
        value=data["value"],
        unit=data.get("unit", ""),
        low=data.get("min"),
        high=data.get("max"),
        passed=data.get("passed", True),
    )


def _take(part: JobPart, need: Need, *, closed: bool) -> None:
    part.spec, part.quantity, part.required = need.spec, need.quantity, need.required
    part.part_id, part.arrived = need.part, min(need.pieces, need.quantity)
    part.ordered, part.fitted = need.ordered, need.fitted
    part.outstanding = need.outstanding and not closed
