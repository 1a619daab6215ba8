"""The flow of the shop: how old open work is, how long stages take, what comes and goes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from django.db.models import Count, Q
from django.utils import timezone

from shop.bench.statistics import flow
from shop.jobs.models import Job, StageVisit
from shop.jobs.stages import OPEN, Stage
from shop.lib.charts import Scale
from shop.lib.epoch import Epoch
from shop.planning import repair_outcomes

WEEKS = 12
MOST_STAYS = 500
MOST_DOTS = 400
_DAY = timedelta(days=1)
_DAY_SECONDS = 86_400.0
_WIDTH, _LEFT, _ROW = 420.0, 10.0, 40.0
_AXIS = 30.0


@dataclass(frozen=True)
class StageRow:
    """One stage: percentiles of finished stays, and the open ones as dots on the same scale."""

    stage: str
    stays: int
    p50: float | None
    p85: float | None
    p95: float | None
    open: int
    beyond: list[Job]
    y: float
    places: dict[str, float]
    # Where, whose, how old in days, and whether beyond what 85 % of finished stays took.
    dots: list[tuple[float, Job, float, bool]]


def stage_ages(now: datetime) -> dict[str, object]:
    """Return the ageing of open work beside the cycle times of each stage, ready to draw."""
    finished = {stage.value: _finished(stage) for stage in OPEN}
    open_jobs: dict[str, list[Job]] = defaultdict(list)
    for job in (
        Job.objects.filter(closed_at=None)
        .select_related("unit")
        .order_by("stage_since")[:MOST_DOTS]
    ):
        open_jobs[str(job.stage)].append(job)
    ages = [(now - job.stage_since) / _DAY for jobs in open_jobs.values() for job in jobs]
    tails = [flow.percentiles(days)[2] for days in finished.values() if days]
    longest = max([1.0, *tails, *(min(age, 60.0) for age in ages)])
    scale = Scale(0, longest, _LEFT, _WIDTH - 14)
    rows = [
        _row(place, stage.value, finished[stage.value], open_jobs[stage.value], now, scale)
        for place, stage in enumerate(OPEN)
    ]
    height = _ROW * len(rows) + 30
    return {"rows": rows, "ticks": scale.ticks(), "width": _WIDTH, "height": height}


def _finished(stage: Stage) -> list[float]:
    ended = StageVisit.objects.filter(stage=stage.value, left_at__isnull=False)
    stayed = Epoch("left_at") - Epoch("entered_at")
    seconds = ended.order_by("-left_at").values_list(stayed, flat=True)[:MOST_STAYS]
    return [each / _DAY_SECONDS for each in seconds]


def _row(
    place: int, stage: str, days: list[float], jobs: list[Job], now: datetime, scale: Scale
) -> StageRow:
    enough = len(days) >= flow.FEWEST
    p50, p85, p95 = flow.percentiles(days) if enough else (None, None, None)
    aged = [((now - job.stage_since) / _DAY, job) for job in jobs]
    named = {"p50": p50, "p85": p85, "p95": p95}
    places = {name: scale.at(value) for name, value in named.items() if value is not None}
    dots = [(scale.at(age), job, age, p85 is not None and age > p85) for age, job in aged]
    beyond = [job for _, job, _, is_beyond in dots if is_beyond]
    y = _ROW * place + 30
    return StageRow(
        stage.replace("_", " "), len(days), p50, p85, p95, len(jobs), beyond, y, places, dots
    )


def weekly_flow(now: datetime) -> dict[str, object]:
    """Return what came, left and came back in each of the last weeks, ready to draw."""
    monday = timezone.localdate(now) - timedelta(days=timezone.localdate(now).weekday())
    first = monday - timedelta(weeks=WEEKS - 1)
    days = [first + timedelta(weeks=n) for n in range(WEEKS)]
    came = _per_week("received_at", days)
    left = _per_week("closed_at", days)
    back = _per_week("received_at", days, Q(returned_from__isnull=False))
    rows = [{"week": day, "came": came[day], "left": left[day], "back": back[day]} for day in days]
    return {"rows": rows, **_chart(rows)}


def _per_week(column: str, mondays: list[date], more: Q | None = None) -> dict[date, int]:
    """Count by the bounds of the weeks, which an index holds; the week of each row is in none."""
    bounds = [_midnight(day) for day in [*mondays, mondays[-1] + timedelta(weeks=1)]]
    within = {
        f"week_{place}": Count("pk", filter=Q((f"{column}__gte", start), (f"{column}__lt", end)))
        for place, (start, end) in enumerate(pairwise(bounds))
    }
    jobs = Job.objects.filter(more or Q(), **{f"{column}__gte": bounds[0]})
    return dict(zip(mondays, jobs.aggregate(**within).values(), strict=True))


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))


@dataclass(frozen=True)
class Bar:
    """One bar of the drawing: what it counts, its place and size, and the count."""

    name: str
    x: float
    y: float
    width: float
    height: float
    count: int


def _chart(rows: list[dict[str, object]]) -> dict[str, object]:
    most = max(4, *(int(str(row[name])) for row in rows for name in ("came", "left")))
    slot = (_WIDTH - 10 - _AXIS) / WEEKS
    y = Scale(0, most, 170, 12)
    bars = [
        Bar(
            name, _AXIS + slot * (place + shift), y.at(count), slot * 0.36, 170 - y.at(count), count
        )
        for place, row in enumerate(rows)
        for name, shift in (("came", 0.12), ("left", 0.52))
        if (count := int(str(row[name])))
    ]
    middles = [round(_AXIS + slot * (place + 0.5), 2) for place in range(WEEKS)]
    return {
        "bars": bars,
        "ticks": [tick for tick in y.ticks(4) if tick[0] == int(tick[0])],
        "labels": [(middles[n], rows[n]["week"]) for n in range(0, WEEKS, 3)],
        "width": _WIDTH,
        "height": 198,
    }


def littles_law(now: datetime) -> flow.Little | None:
    """Return Little's law over the last weeks, or None when nothing was inside."""
    start = now - timedelta(weeks=WEEKS)
    inside = Job.objects.filter(Q(closed_at=None) | Q(closed_at__gte=start))
    came_at, left_at = Epoch("received_at"), Epoch("closed_at")
    # By the number, not by the column: its index would lead through every job there ever was.
    found = inside.order_by(came_at.desc()).values_list(came_at, left_at)
    begins = start.timestamp()
    stays = [
        ((came - begins) / _DAY_SECONDS, None if left is None else (left - begins) / _DAY_SECONDS)
        for came, left in found[:20_000]
    ]
    return flow.little_check(stays, 0.0, 7.0 * WEEKS) if stays else None


def returned_jobs(now: datetime) -> tuple[int, int]:
    """Return how many jobs were released in the last year, and how many of those came back."""
    since = now - timedelta(days=365)
    released = Job.objects.filter(stage=Stage.RELEASED.value, closed_at__gte=since)
    return released.count(), len(repair_outcomes.came_back(since))
