"""Open jobs follow the published pack."""

from __future__ import annotations

import logging
from datetime import datetime

from django.db.models import QuerySet

from checklists import published
from shop.jobs import moves
from shop.jobs.models import Job, StaleJob
from shop.jobs.stages import Power

log = logging.getLogger(__name__)

BATCH = 500


def follow(*, now: datetime) -> int:
    """Derive up to 500 open jobs that are behind the published pack; return how many.

    Units with mains come first: a permit that does not stand under the new rules falls. Each
    job is a transaction of its own, so nobody at the bench waits for the others.
    """
    behind = Job.objects.filter(closed_at=None).exclude(pack_digest=published.current().digest)
    energised = behind.exclude(power=Power.ISOLATED.value)
    done = 0
    for number in [*_numbers(energised), *_numbers(behind)]:
        try:
            done += moves.refresh(number, at=now)
        except StaleJob:
            log.info("job %s was written meanwhile; it is up to date by that", number)
        except Exception:
            log.exception("job %s could not be derived under the new pack", number)
    return done


def _numbers(jobs: QuerySet[Job]) -> list[int]:
    return list(jobs.order_by("number").values_list("number", flat=True)[:BATCH])
