"""What became of repairs: cured at once, and came back, by kind of unit and by cause."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet

from shop.bench.statistics.intermittent import FaultRate, fault_rate
from shop.jobs.models import Job, StageVisit
from shop.jobs.stages import Stage
from shop.lib.text import spaced

SPAN = timedelta(days=730)
SHOWN = 20
_DONE = (Stage.REASSEMBLED.value, Stage.SOAKING.value)


@dataclass(frozen=True)
class Outcome:
    """Repairs of one kind or cause. `cured` went to release without going back to the bench and
    did not return; `back` returned. Shares come with their exact 95 % interval.
    """

    name: str
    released: int
    cured: int
    back: int

    @property
    def cured_rate(self) -> FaultRate:
        """The share that was cured at once."""
        return fault_rate(self.cured, self.released)

    @property
    def back_rate(self) -> FaultRate:
        """The share that came back."""
        return fault_rate(self.back, self.released)


def by_unit_kind(now: datetime) -> list[Outcome]:
    """Return the outcomes of each kind of unit, most repairs first."""
    rows = _counted(_released(now).values(name=F("kind")))
    return [_outcome(row, "kind not noted") for row in rows]


def by_cause(now: datetime) -> list[Outcome]:
    """Return the outcomes of each confirmed cause; a repair with two causes counts for both."""
    caused = _released(now).filter(causes__isnull=False)
    return [_outcome(row, "") for row in _counted(caused.values(name=F("causes__suspect")))]


def _released(now: datetime) -> QuerySet[Job]:
    reopened = StageVisit.objects.filter(job=OuterRef("pk"), stage__in=_DONE, to=Stage.OPENED.value)
    returned = Job.objects.filter(returned_from=OuterRef("pk"))
    jobs = Job.objects.filter(stage=Stage.RELEASED.value, closed_at__gte=now - SPAN)
    return jobs.annotate(again=Exists(reopened), back=Exists(returned)).order_by()


def _counted(jobs: Any) -> Iterable[dict[str, object]]:
    counted = jobs.annotate(
        released=Count("pk"),
        cured=Count("pk", filter=Q(again=False, back=False)),
        came_back=Count("pk", filter=Q(back=True)),
    )
    rows: Iterable[dict[str, object]] = counted.order_by("-released", "name")[:SHOWN]
    return rows


def _outcome(row: dict[str, object], unnamed: str) -> Outcome:
    counts = (int(str(row[name])) for name in ("released", "cured", "came_back"))
    return Outcome(spaced(row["name"]) or unnamed, *counts)
