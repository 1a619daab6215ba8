"""What the shop itself does to a job: the published pack, the patience."""

from __future__ import annotations

from datetime import datetime

from django.db.models import F

from checklists import published
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.models import Job


def refresh(number: int, *, at: datetime) -> bool:
    """Derive the job under the published pack; returns whether it was behind.

    The patience of the job runs on: a new pack is nobody's work on it. A permit that no longer stands under the new rules falls, as with any other change.
    """
    with job_transaction(number, by=None, at=at) as tx:
        behind = tx.job.pack_digest != published.current().digest
        if behind:
            tx.changed("pack_digest")
    return behind


def defer(job: Job, *, until: datetime) -> None:
    """Look at the job again after `until`; somebody else's write in between wins."""
    same = Job.objects.filter(pk=job.number, version=job.version)
    same.update(due_at=until, version=F("version") + 1)
