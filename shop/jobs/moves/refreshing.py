"""What the shop itself does to a job: the published pack, the patience."""

from __future__ import annotations

from datetime import datetime

from django.db.models import F

from checklists import published
from shop.jobs.models import Job
from shop.jobs.moves.visit import visit


def refresh(number: int, *, at: datetime) -> bool:
    """Derive the job under the published pack; returns whether it was behind.

    The patience of the job runs on: a new pack is nobody's work on it. A permit that no longer stands under the new rules falls, as with any other change.
    """
    with visit(number, by=None, at=at) as here:
        behind = here.job.pack_digest != published.current().digest
        if behind:
            here.changed("pack_digest")
    return behind


def push_away(job: Job, *, until: datetime) -> None:
    """Look at the job again after `until`; somebody else's write in between wins."""
    same = Job.objects.filter(pk=job.number, version=job.version)
    same.update(due_at=until, version=F("version") + 1)
