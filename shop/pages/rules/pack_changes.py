"""What another pack would change for the open jobs, told before it is published."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from checklists.engine.checklist import Checklist
from checklists.engine.deduced import with_deduced
from checklists.engine.derive import derive
from checklists.engine.pack import Pack
from shop.jobs import events
from shop.jobs.models import Job, LedgerRow
from shop.jobs.stages import OPEN

CHUNK = 200


@dataclass(frozen=True)
class JobChange:
    """One job and what would come (+), go (-), fall due again (!) or move to another gate (~)."""

    job: Job
    lines: list[str]
    mains_falls: bool


def for_open_jobs(before: Pack, after: Pack, most: int | None = None) -> Iterator[JobChange]:
    """Yield every open job that would change, oldest first; `most` bounds the jobs looked at."""
    jobs = Job.objects.filter(stage__in=OPEN).select_related("unit").order_by("number")[:most]
    for chunk in _chunks(list(jobs)):
        rows = _rows_of(chunk)
        for job in chunk:
            record = events.reduce(job, rows.get(job.number, []))
            facts = with_deduced(record.facts)
            old = derive(before, facts, record.history)
            new = derive(after, facts, record.history)
            lines = between(old, new)
            if lines:
                yield JobChange(
                    job, lines, job.energised and any("!" in t or "+" in t for t in lines)
                )


def _chunks(jobs: list[Job]) -> Iterator[list[Job]]:
    for start in range(0, len(jobs), CHUNK):
        yield jobs[start : start + CHUNK]


def _rows_of(jobs: list[Job]) -> dict[int, list[LedgerRow]]:
    """Read the ledgers of a chunk of jobs with one query."""
    rows_by_job: dict[int, list[LedgerRow]] = {}
    for row in LedgerRow.objects.filter(job__in=jobs).order_by("job", "sequence"):
        rows_by_job.setdefault(row.job_id, []).append(row)
    return rows_by_job


def between(before: Checklist, after: Checklist) -> list[str]:
    """Tell how one checklist differs from another, a line per step."""
    lines = [f"+ {key}" for key in after.by_key if key not in before.by_key]
    lines += [f"- {key}" for key in before.by_key if key not in after.by_key]
    for key, step in after.by_key.items():
        old = before.by_key.get(key)
        if old is not None and old.stands and not step.stands:
            due = _("{step} would be due again: {why}").format(step=key, why=step.validity.why)
            lines.append(f"! {due}")
        elif old is not None and old.gate != step.gate:
            moves = _("{step} moves from gate {old} to {new}")
            lines.append(f"~ {moves.format(step=key, old=old.gate, new=step.gate)}")
    return lines
