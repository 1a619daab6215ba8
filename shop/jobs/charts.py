"""Drawings of a job's trials and soak: places on the drawing, ready for the templates."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
from django.utils.translation import gettext as _

from shop.bench.electrical import heating, soak
from shop.bench.statistics.intermittent import FaultRate
from shop.bench.units import spoken, unit_of
from shop.jobs.soaking import Soak
from shop.jobs.trials import Trials
from shop.lib.calculator_words import calculated
from shop.lib.charts import Scale, percent, polyline
from shop.lib.pack_words import pack_word
from shop.lib.signs import unit_sign

WIDTH, HEIGHT, LEFT, BOTTOM = 420.0, 190.0, 38.0, 24.0
_ROW = 38.0


@dataclass(frozen=True)
class SoakChart:
    """One quantity over the hours: dots, limit lines, and for the sink the curve with its band."""

    quantity: str
    unit: str
    dots: list[tuple[float, float, float, float]]
    limits: list[tuple[float, float]]
    curve: str
    band: str
    x_ticks: list[tuple[float, float]]
    y_ticks: list[tuple[float, float]]
    drift: soak.Drift | None
    # While it runs: the place of now, and of each reading that is still to come.
    now: float | None = None
    due: list[float] = field(default_factory=list)
    width: float = WIDTH
    height: float = HEIGHT

    @property
    def right(self) -> float:
        """How wide what is still to come is on the drawing."""
        return 0.0 if self.now is None else self.width - 10 - self.now


def soak_charts(run: Soak, now: datetime) -> list[SoakChart]:
    """Return a chart for each quantity that was read, the sink first."""
    by_quantity = soak.grouped(run.readings)
    names = sorted(by_quantity, key=lambda name: (name != soak.SINK, name))
    end = max(run.plan.hours * 60, run.run_minutes(now), 1.0)
    minutes = run.run_minutes(now) if run.state == "running" else None
    charts = [_chart(run, name, by_quantity[name], end) for name in names if name != soak.TRIPS]
    return [_with_future(chart, run, end, minutes) for chart in charts]


def _with_future(chart: SoakChart, run: Soak, end: float, minutes: float | None) -> SoakChart:
    """Return a chart with what is still to come; one that ended has nothing to come."""
    if minutes is None:
        return chart
    x = Scale(0, end, LEFT, WIDTH - 10)
    due = [x.at(minute) for minute in run.plan.reading_minutes if minute > minutes]
    return replace(chart, now=x.at(minutes), due=due)


def _chart(run: Soak, name: str, readings: list[soak.Reading], end: float) -> SoakChart:
    limit = run.limits.get(name, soak.Limit())
    bounds = [bound for bound in (limit.low, limit.high) if bound is not None]
    values = [reading.value for reading in readings]
    low, high = min([*values, *bounds]), max([*values, *bounds])
    margin = (high - low) * 0.08 or 1.0
    x = Scale(0, end, LEFT, WIDTH - 10)
    y = Scale(low - margin, high + margin, HEIGHT - BOTTOM, 10)
    curve, band = _fitted(readings, x, y, end) if name == soak.SINK else ("", "")
    return SoakChart(
        calculated(spoken(name)),
        unit_sign(unit_of(name)),
        [(x.at(r.minutes), y.at(r.value), r.minutes, r.value) for r in readings],
        [(bound, y.at(bound)) for bound in bounds],
        curve,
        band,
        [(value / 60, x.at(value)) for value in _hours(end)],
        y.ticks(4),
        run.verdict.drifts.get(name),
    )


def _hours(end: float) -> list[float]:
    step = 60.0 * max(1, round(end / 60 / 6))
    return [step * n for n in range(int(end / step) + 1)]


def _fitted(readings: list[soak.Reading], x: Scale, y: Scale, end: float) -> tuple[str, str]:
    """Return the fitted curve and its 95 % band as points, or nothing while there are too few."""
    points = {reading.minutes: reading.value for reading in readings}
    try:
        found = heating.weighed(list(points), list(points.values()))
    except ValueError:
        return "", ""
    minutes = np.linspace(0, end, 60)
    middle, half = found.band(minutes)
    xs = [x.at(float(minute)) for minute in minutes]
    above = [y.at(float(value)) for value in middle + half]
    below = [y.at(float(value)) for value in middle - half]
    return (
        polyline(xs, [y.at(float(value)) for value in middle]),
        polyline([*xs, *reversed(xs)], [*above, *reversed(below)]),
    )


@dataclass(frozen=True)
class RateRow:
    """A rate with its interval as places on a line from 0 to 100 %."""

    name: str
    said: str
    y: float
    low: float
    at: float
    high: float


def _shown(rate: FaultRate, said: str) -> str:
    words = _("{rate} ({low} to {high})").format(
        rate=percent(rate.rate), low=percent(rate.low), high=percent(rate.high)
    )
    return f"{words} {said}".rstrip()


def trial_chart(trials: Trials) -> dict[str, object]:
    """Return the intervals of the rate, over all and per condition, and the row of trials."""
    scale = Scale(0, 100, 14, WIDTH - 26)
    rates = []
    if trials.rate is not None:
        rates.append((_("all trials before the work"), trials.rate, ""))
    for one in trials.conditions.ranked:
        said = _("{faults} of {trials}").format(faults=one.faults_with, trials=one.trials_with)
        rates.append((pack_word(one.condition), one.with_it, said))
    rows = [
        RateRow(
            name,
            _shown(rate, said),
            _ROW * place + 30,
            scale.at(rate.low * 100),
            scale.at(rate.rate * 100),
            scale.at(rate.high * 100),
        )
        for place, (name, rate, said) in enumerate(rates)
    ]
    return {
        "rows": rows,
        "ticks": scale.ticks(),
        "width": WIDTH,
        "height": _ROW * len(rows) + 36,
        "foot": _ROW * len(rows) + 28,
    }
