"""Which units have mains now, for the line at the top of every page."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from django.db import DatabaseError
from django.db.models import Q, QuerySet
from django.utils import timezone

from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.lib.prepared import Prepared


@dataclass(frozen=True, kw_only=True)
class Notice:
    """What something else than the record says of mains: a sentence for every page.

    `loud` where mains is there although the record says that it is not. `job` is whose plug it is
    about, where that is known. `key` tells two notices apart, however often their words change.
    """

    key: str
    sentence: str
    loud: bool = False
    job: int | None = None


# What rooms above measure: they add to it when the program starts.
NOTICES: list[Callable[[datetime], list[Notice]]] = []


@dataclass(frozen=True)
class LiveUnit:
    """What the line says of one unit, in plain values; `pull` where its plug has to come out."""

    number: int
    head: int
    unit: str
    power: str
    pull: bool


@dataclass(frozen=True)
class LiveUnits:
    """Jobs whose unit has mains, or whose plug has to come out; `unread` when nobody can tell."""

    jobs: list[Job] = field(default_factory=list)
    unread: bool = False
    notices: list[Notice] = field(default_factory=list)

    @property
    def lines(self) -> tuple[LiveUnit, ...]:
        """What the line says of each unit."""
        return tuple(
            LiveUnit(job.number, job.head, job.unit.name, job.power, job.unplug_due)
            for job in self.jobs
        )

    @property
    def mark(self) -> str:
        """A short mark of what is shown, to tell whether it has changed."""
        shown = [(job.number, job.head, str(job.power), job.unplug_due) for job in self.jobs]
        told = [(notice.key, notice.loud) for notice in self.notices]
        return hashlib.sha256(repr((shown, self.unread, told)).encode()).hexdigest()[:12]


def _live(now: datetime) -> QuerySet[Job]:
    live = ~Q(power=Power.ISOLATED.value) | Q(unplug_due=True)
    # In no order: SQLite would read every job there is in the order of their numbers.
    return queries.jobs(now).filter(live, closed_at=None).order_by()


_LIVE = Prepared(_live, datetime, **queries.WITH_UNIT)


def live_units() -> LiveUnits:
    """Return the units that are live; a database that does not answer is no unit off mains."""
    now = timezone.now()
    try:
        jobs = sorted(_LIVE(now), key=lambda job: job.number)
        return LiveUnits(jobs, notices=[notice for told in NOTICES for notice in told(now)])
    except DatabaseError:
        return LiveUnits(unread=True)
