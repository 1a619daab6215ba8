"""Writes what lists across jobs read: part needs and stays in stages, from the ledger."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from shop.jobs.models import Job, JobCause, JobPart, JobReading, LedgerRow, StageVisit
from shop.jobs.record import Need, Record


def stages(job: Job, at: datetime) -> None:
    """Close the open stay when the stage has changed, and begin the next one."""
    stay = StageVisit.objects.filter(job=job, left_at=None).first()
    if stay is not None and stay.stage == job.stage:
        return
    if stay is not None:
        stay.left_at, stay.to, stay.kind = at, str(job.stage), job.kind
        stay.save(update_fields=["left_at", "to", "kind"])
    if not job.closed:
        StageVisit.objects.create(job=job, stage=str(job.stage), kind=job.kind, entered_at=at)


def parts(job: Job, record: Record, at: datetime) -> None:
    """Write each need as the ledger has it."""
    known = {part.need: part for part in JobPart.objects.filter(job=job)}
    for need in record.needs:
        part = known.get(need.sequence) or JobPart(job=job, need=need.sequence, needed_at=at)
        _take(part, need, closed=job.closed)
        part.save()


def causes(job: Job, record: Record) -> None:
    """Write the causes that stand confirmed, and take away those that no longer do."""
    confirmed = {key for key, state in record.suspects.items() if state == "confirmed"}
    JobCause.objects.filter(job=job).exclude(suspect__in=confirmed).delete()
    for suspect in confirmed:
        JobCause.objects.update_or_create(job=job, suspect=suspect, defaults={"kind": job.kind})


def readings(job: Job, written: Iterable[LedgerRow]) -> None:
    """Write the readings of signed steps and those taken by themselves."""
    found = []
    for row in written:
        if row.event_type == "step_signed":
            found += [_reading(job, row.sequence, one) for one in row.data.get("readings", ())]
        elif row.event_type == "reading_taken":
            found.append(_reading(job, row.sequence, row.data))
    if found:
        JobReading.objects.bulk_create(found)


def _reading(job: Job, sequence: int, data: dict[str, Any]) -> JobReading:
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
