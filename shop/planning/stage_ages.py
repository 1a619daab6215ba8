"""How old open work is in each stage, beside how long finished stays took, ready to draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.template.defaultfilters import floatformat
from django.utils.translation import gettext as _

from shop.bench.statistics import flow
from shop.jobs.models import Job, StageVisit, Unit
from shop.jobs.names import stage_name
from shop.jobs.stages import OPEN, Stage
from shop.lib.charts import Scale
from shop.lib.epoch import Epoch
from shop.lib.prepared import PreparedRows
from shop.lib.web.navigation import address

MOST_STAYS = 500
MOST_DOTS = 50  # of each stage: more would hide each other
_DAY = timedelta(days=1)
_WIDTH, _LEFT, _ROW = 420.0, 10.0, 40.0


@dataclass(frozen=True)
class Dot:
    """An open unit: its job, how old in days, and whether beyond what 85 % of finished stays took."""

    number: int
    unit: str
    age: float
    x: float
    late: bool

    @property
    def path(self) -> str:
        """The page of its job."""
        return address("job", self.number)

    @property
    def title(self) -> str:
        """Say which unit it is, and its age."""
        words = {"number": self.number, "unit": self.unit, "days": floatformat(self.age, 1)}
        return _("Job %(number)s, %(unit)s: %(days)s days") % words


@dataclass(frozen=True)
class StageRow:
    """One stage: percentiles of finished stays, and the oldest open units as dots on the same scale."""

    stage: str
    stays: int
    percentiles: dict[str, float]
    places: dict[str, float]
    open: int
    late: int
    dots: list[Dot]
    y: float

    @property
    def late_dots(self) -> list[Dot]:
        """The dots that are late."""
        return [dot for dot in self.dots if dot.late]

    @property
    def late_undrawn(self) -> int:
        """How many are late and not drawn."""
        return self.late - len(self.late_dots)


def stage_ages(now: datetime) -> dict[str, object]:
    """Return the ageing of open work beside the cycle times of each stage."""
    stays = {stage: _Stays.of(stage) for stage in OPEN}
    oldest = {stage: _OLDEST[stage]() for stage in OPEN}
    counts = _open_now(stays, now)
    scale = Scale(0, _longest(stays, oldest, now), _LEFT, _WIDTH - 14)
    rows = [
        _row(_ROW * place + 30, stays[stage], oldest[stage], counts[stage], now, scale)
        for place, stage in enumerate(OPEN)
    ]
    return {
        "rows": rows,
        "most": MOST_DOTS if any(row.open > len(row.dots) for row in rows) else None,
        "ticks": scale.ticks(),
        "width": _WIDTH,
        "height": _ROW * len(rows) + 30,
    }


@dataclass(frozen=True)
class _Stays:
    """The finished stays of a stage, in days; `percentiles` are empty when they are too few."""

    stage: Stage
    days: list[float]
    percentiles: dict[str, float]

    @classmethod
    def of(cls, stage: Stage) -> _Stays:
        days = [float(seconds) / _DAY.total_seconds() for (seconds,) in _FINISHED[stage]()]
        found = flow.percentiles(days) if len(days) >= flow.FEWEST else []
        return cls(stage, days, dict(zip(("p50", "p85", "p95"), found, strict=False)))

    def late_before(self, now: datetime) -> datetime | None:
        """Return since when a unit must be here to be younger than 85 % of finished stays."""
        days = self.percentiles.get("p85")
        return None if days is None else now - timedelta(days=days)


def _longest(
    stays: Mapping[Stage, _Stays], oldest: Mapping[Stage, list[Sequence[Any]]], now: datetime
) -> float:
    tails = [flow.percentiles(one.days)[2] for one in stays.values() if one.days]
    ages = [
        min((now - since) / _DAY, 60.0)
        for rows in oldest.values()
        for _number, since, *_unit in rows
    ]
    return max([1.0, *tails, *ages])


def _open_now(stays: Mapping[Stage, _Stays], now: datetime) -> dict[Stage, tuple[int, int]]:
    """Return how many are open in each stage, and how many of them are late."""
    late = Q(pk__in=[])
    for one in stays.values():
        if before := one.late_before(now):
            late |= Q(stage=one.stage.value, stage_since__lt=before)
    by_stage = Job.objects.filter(closed_at=None, stage__in=OPEN).order_by().values_list("stage")
    counted = by_stage.annotate(open=Count("pk"), late=Count("pk", filter=late))
    return dict.fromkeys(OPEN, (0, 0)) | {Stage(name): (all_, old) for name, all_, old in counted}


def _row(
    y: float,
    stays: _Stays,
    oldest: Sequence[Sequence[Any]],
    counts: tuple[int, int],
    now: datetime,
    scale: Scale,
) -> StageRow:
    places = {name: scale.at(days) for name, days in stays.percentiles.items()}
    before, dots = stays.late_before(now), []
    for number, since, make, model in oldest:
        age, late = (now - since) / _DAY, before is not None and since < before
        dots.append(Dot(number, str(Unit(make=make, model=model)), age, scale.at(age), late))
    name = stage_name(stays.stage)
    return StageRow(name, len(stays.days), stays.percentiles, places, *counts, dots, y)


def _finished(stage: Stage) -> QuerySet[StageVisit]:
    ended = StageVisit.objects.filter(stage=stage.value, left_at__isnull=False)
    seconds = Epoch("left_at") - Epoch("entered_at")
    return ended.annotate(seconds=seconds).order_by("-left_at")[:MOST_STAYS]


def _oldest(stage: Stage) -> QuerySet[Job]:
    return Job.objects.filter(closed_at=None, stage=stage.value).order_by("stage_since")[:MOST_DOTS]


_FINISHED = {stage: PreparedRows(partial(_finished, stage), columns=["seconds"]) for stage in OPEN}
_COLUMNS = ("number", "stage_since", "unit__make", "unit__model")
_OLDEST = {stage: PreparedRows(partial(_oldest, stage), columns=_COLUMNS) for stage in OPEN}
