"""The flow of the shop: what comes, goes and comes back in a week, and whether it adds up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import partial
from itertools import pairwise
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum, Value
from django.db.models.functions import Greatest, Least
from django.utils import timezone

from shop.bench.statistics import flow
from shop.jobs.models import Job
from shop.lib.charts import Scale
from shop.lib.epoch import Epoch
from shop.lib.prepared import PreparedRows

WEEKS = 12
_DAY_SECONDS = 86_400.0
_WIDTH = 420.0
_AXIS = 30.0


def weekly_flow(now: datetime) -> dict[str, object]:
    """Return what came, left and came back in each of the last weeks, ready to draw."""
    monday = timezone.localdate(now) - timedelta(days=timezone.localdate(now).weekday())
    days = [monday - timedelta(weeks=back) for back in reversed(range(WEEKS))]
    bounds = [_midnight(day) for day in [*days, monday + timedelta(weeks=1)]]
    came = {place: counts for place, *counts in _CAME(*bounds)}
    left = {row[0]: row[1] for row in _LEFT(*bounds)}
    rows: list[dict[str, object]] = []
    for place, day in enumerate(days):
        all_, back = came.get(place, (0, 0))
        rows.append({"week": day, "came": all_, "left": left.get(place, 0), "back": back})
    return {"rows": rows, **_chart(rows)}


def _by_week(column: str, *bounds: datetime, **counts: Count) -> QuerySet[Job, Any]:
    """Count the jobs of each week, from its bounds: an index holds them, the week itself is in none."""
    first, *more = (
        Job.objects.filter(Q((f"{column}__gte", start), (f"{column}__lt", end)))
        .order_by()
        .values(week=Value(place))
        .annotate(**counts)
        for place, (start, end) in enumerate(pairwise(bounds))
    )
    return first.union(*more, all=True)


_BOUNDS = [datetime] * (WEEKS + 1)
_CAME = PreparedRows(
    partial(_by_week, "received_at", came=Count("pk"), back=Count("returned_from")),
    *_BOUNDS,
    columns=["week", "came", "back"],
)
_LEFT = PreparedRows(
    partial(_by_week, "closed_at", left=Count("pk")), *_BOUNDS, columns=["week", "left"]
)


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
    start, days = now - timedelta(weeks=WEEKS), 7.0 * WEEKS
    closed = Job.objects.filter(closed_at__gte=start).aggregate(
        inside=Sum(_inside(Least(Epoch("closed_at"), now.timestamp()), start)),
        stayed=Sum(Epoch("closed_at") - Epoch("received_at"), filter=Q(closed_at__lt=now)),
        ended=Count("pk", filter=Q(closed_at__lt=now)),
        all=Count("pk"),
    )
    open_ = Job.objects.filter(closed_at=None).aggregate(
        inside=Sum(_inside(Value(now.timestamp()), start)), all=Count("pk")
    )
    if not closed["all"] + open_["all"]:
        return None
    arrived = Job.objects.filter(received_at__gte=start, received_at__lt=now).count()
    inside = ((closed["inside"] or 0.0) + (open_["inside"] or 0.0)) / _DAY_SECONDS
    stayed = (closed["stayed"] or 0.0) / _DAY_SECONDS / max(1, closed["ended"])
    return flow.Little(inside / days, arrived / days, stayed)


def _inside(until: Any, start: datetime) -> Greatest:
    """The seconds that a job was inside from `start` (aware) on."""
    return Greatest(0.0, until - Greatest(Epoch("received_at"), start.timestamp()))
