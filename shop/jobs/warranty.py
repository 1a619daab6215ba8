"""The warranty on a repair: until when, and whether a unit that came back is within it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from shop.jobs.models import Job
from shop.preferences import current as preferences


@dataclass(frozen=True)
class Return:
    """A unit that came back as repaired: from which job, and the last day of its warranty."""

    job: Job
    until: date
    came_back_on: date

    @property
    def within(self) -> bool:
        """Whether it came back by the last day."""
        return self.came_back_on <= self.until


def warranted_until(job: Job) -> date:
    """Return the last day of the warranty on a repair that was released, in the shop's calendar."""
    released = timezone.localdate(job.closed_at)
    return released + timedelta(days=preferences.value("warranty_days"))


def return_of(job: Job) -> Return | None:
    """Return what a job comes back from; None for a first visit and in a shop without warranty.

    The day counts on which the unit came in, by the shop's present number of days.
    """
    before = job.returned_from
    if before is None or before.closed_at is None or not preferences.value("warranty_days"):
        return None
    return Return(before, warranted_until(before), timezone.localdate(job.received_at))
