"""The open jobs beside the one that is open, on a page that is wide enough."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext_lazy as _

from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import Waiting

MOST = 40
_HEADINGS = (
    (_("Do now"), (Waiting.HANDS, Waiting.NOBODY)),
    (_("Running"), (Waiting.SOAK_CLOCK,)),
    (_("Waiting"), (Waiting.CUSTOMER, Waiting.PARTS)),
)


def open_jobs(now: datetime) -> dict[str, Any]:
    """Return the open jobs under what they wait for, the longest in the shop first."""
    jobs = list(queries.jobs(now).filter(closed_at=None).order_by("received_at")[:MOST])
    return {"groups": [(heading, _of(jobs, waits)) for heading, waits in _HEADINGS]}


def _of(jobs: list[Job], waits: tuple[Waiting, ...]) -> list[Job]:
    return [job for job in jobs if job.waiting_on in waits]
