"""Curves of a unit, earlier ones beside the newest, ready to draw."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from django.utils.translation import gettext as _

from shop.jobs.events.curve_measured import CURVES
from shop.jobs.models import Job, LedgerRow
from shop.lib import languages
from shop.lib.charts import Scale, polyline

MOST_LINES = 6
WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 420.0, 206.0, 52.0, 410.0, 10.0, 182.0
_MOST_ROWS = 200
# What a curve of distortion is cut at: nothing measures less.
_LEAST_PERCENT = 1e-4


@dataclass(frozen=True)
class Curve:
    """A curve as it was measured; `job` and `at` are nothing for one that is not written down."""

    kind: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    x_unit: str
    y_unit: str
    channel: int
    note: str = ""
    job: int | None = None
    at: datetime | None = None


@dataclass(frozen=True)
class Line:
    """A curve on the drawing: its points, which dashes it has, and what the legend says."""

    curve: Curve
    points: str
    dashes: int


@dataclass(frozen=True)
class Chart:
    """Curves of one kind of one unit, newest first."""

    title: str
    lines: list[Line]
    x_ticks: list[tuple[str, float]]
    y_ticks: list[tuple[str, float]]
    x_unit: str
    y_unit: str
    against: str
    width: float = WIDTH
    height: float = HEIGHT

    @property
    def newest(self) -> list[tuple[float, float]]:
        """The numbers of the newest curve."""
        return list(zip(self.lines[0].curve.x, self.lines[0].curve.y, strict=True))


def as_curve(row: Mapping[str, Any], job: int | None = None, at: datetime | None = None) -> Curve:
    """Return the curve of the data of a row; ValueError or a kin of it for one that is none."""
    x, y = ([float(one) for one in row[axis]] for axis in ("x", "y"))
    pairs = sorted(zip(x, y, strict=True))
    if len(pairs) < 2 or not all(math.isfinite(one) for pair in pairs for one in pair):
        raise ValueError("no curve")
    return Curve(
        kind=str(row["curve"]),
        x=tuple(one for one, _ in pairs),
        y=tuple(one for _, one in pairs),
        x_unit=str(row.get("x_unit", "")),
        y_unit=str(row.get("y_unit", "")),
        channel=int(row.get("channel", 1)),
        note=str(row.get("note", "")),
        job=job,
        at=at,
    )


def of_unit(job: Job) -> list[Curve]:
    """Return the curves of a job's unit, over all its jobs, newest first; two queries."""
    rows = LedgerRow.objects.filter(job__unit=job.unit_id)
    taken_back = {
        (row.job_id, row.data.get("row")) for row in rows.filter(event_type="entry_withdrawn")
    }
    found = []
    for row in rows.filter(event_type="curve_measured").order_by("-at", "-pk")[:_MOST_ROWS]:
        if (row.job_id, row.sequence) not in taken_back:
            try:
                found.append(as_curve(row.data, row.job_id, row.at))
            except (LookupError, TypeError, ValueError):
                continue  # what cannot be read is drawn by nobody
    return found


def charts(curves: Iterable[Curve]) -> list[Chart]:
    """Return a drawing of each kind of curve, with the newest ones of it; curves newest first."""
    by_kind: dict[tuple[str, str], list[Curve]] = defaultdict(list)
    for curve in curves:
        if curve.kind in CURVES and len(by_kind[curve.kind, curve.x_unit]) < MOST_LINES:
            by_kind[curve.kind, curve.x_unit].append(curve)
    return [_chart(kind, kept) for (kind, _), kept in by_kind.items()]


Axis = Callable[[float], float]


def _plain(value: float) -> float:
    return value


def _log(value: float) -> float:
    return math.log10(max(value, _LEAST_PERCENT))


def _chart(kind: str, curves: list[Curve]) -> Chart:
    newest = curves[0]
    to_x = _plain if newest.x_unit == "dB" else _log
    to_y = _log if kind == "distortion" else _plain
    x = _scale([to_x(v) for one in curves for v in one.x], LEFT, RIGHT)
    y = _scale([to_y(v) for one in curves for v in one.y], BOTTOM, TOP, narrow=kind == "response")
    lines = [
        Line(one, polyline([x.at(to_x(v)) for v in one.x], [y.at(to_y(v)) for v in one.y]), place)
        for place, one in enumerate(curves)
    ]
    return Chart(
        CURVES[kind], lines, _ticks(x, to_x), _ticks(y, to_y), newest.x_unit, newest.y_unit,
        _against(curves),
    )  # fmt: skip


def _scale(values: list[float], start: float, end: float, *, narrow: bool = False) -> Scale:
    low, high = min(values), max(values)
    if narrow:  # a response that is level is not blown up to its last hundredth of a decibel
        low, high = min(low, -12.0), max(high, 6.0)
    margin = (high - low) * 0.02 or 0.5
    return Scale(low - margin, high + margin, start, end)


def _ticks(scale: Scale, axis: Axis) -> list[tuple[str, float]]:
    if axis is _plain:
        return [(f"{value:g}", place) for value, place in scale.ticks(5)]
    decades = range(math.floor(scale.low), math.ceil(scale.high) + 1)
    factors = (1,) if scale.high - scale.low > 2 else (1, 2, 5)
    values = [factor * 10.0**n for n in decades for factor in factors]
    inside = [one for one in values if scale.low <= math.log10(one) <= scale.high]
    return [(_short(one), scale.at(math.log10(one))) for one in inside]


def _short(value: float) -> str:
    return f"{value / 1000:.3g} k" if value >= 1000 else f"{value:.3g}"


def _against(curves: list[Curve]) -> str:
    """Say how far a response is off the one before it on the same channel."""
    newest = curves[0]
    before = next((one for one in curves[1:] if one.channel == newest.channel), None)
    if before is None or newest.kind != "response":
        return ""
    shared = [f for f in newest.x if before.x[0] <= f <= before.x[-1]]
    if not shared:
        return ""
    places = np.log(shared)
    now, then = (np.interp(places, np.log(one.x), one.y) for one in (newest, before))
    worst = int(np.argmax(np.abs(now - then)))
    off = float(now[worst] - then[worst])
    said = _off_at(off, bool(before.at))
    return said.format(
        day=languages.day(before.at) if before.at else "",
        decibels=abs(off),
        hertz=_short(round(shared[worst])),
    )


def _off_at(off: float, dated: bool) -> str:
    if dated and off > 0:
        return _(
            "Against the one before it of {day}: at most {decibels:.1f} dB more, at {hertz}Hz."
        )
    if dated:
        return _(
            "Against the one before it of {day}: at most {decibels:.1f} dB less, at {hertz}Hz."
        )
    if off > 0:
        return _("Against the one before it: at most {decibels:.1f} dB more, at {hertz}Hz.")
    return _("Against the one before it: at most {decibels:.1f} dB less, at {hertz}Hz.")
