"""Open jobs follow the published pack."""

from __future__ import annotations

import logging
import time
from datetime import datetime

from django.db.models import QuerySet

from checklists import published
from shop.jobs import commands
from shop.jobs.models import Job, StaleJob
from shop.jobs.stages import Power

log = logging.getLogger(__name__)

BATCH = 200


def follow(*, now: datetime, seconds: float = 20.0) -> int:
    """Derive open jobs that are behind the published pack, in chunks; return how many.

    It goes on for so many seconds and leaves the rest to the next round. Units with mains
    come first: a permit that does not stand under the new rules falls. Each job is a
    transaction of its own, so nobody at the bench waits for the others.
    """
    until = time.monotonic() + seconds
    behind = Job.objects.filter(closed_at=None).exclude(pack_digest=published.current().digest)
    energised = behind.exclude(power=Power.ISOLATED.value)
    done, failed = 0, set[int]()
    while time.monotonic() < until:
        chunk = [*_numbers(energised, failed), *_numbers(behind, failed)]
        if not chunk:
            break
        for number in dict.fromkeys(chunk):
            if _refresh(number, now):
                done += 1
            else:
                failed.add(number)
        log.info("%s jobs brought up to the published rules", done)
    return done


def _refresh(number: int, now: datetime) -> bool:
    try:
        return commands.refresh(number, at=now)
    except StaleJob:
        log.info("job %s was written meanwhile; it is up to date by that", number)
    except Exception:
        log.exception("job %s could not be derived under the new pack", number)
    return False


def _numbers(jobs: QuerySet[Job], failed: set[int]) -> list[int]:
    left = jobs.exclude(pk__in=failed).order_by("number")
    return list(left.values_list("number", flat=True)[:BATCH])
