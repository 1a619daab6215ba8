"""The soak: what to read and when, and what the readings say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from shop.bench.inputs import within
from shop.bench.units import spoken

if TYPE_CHECKING:
    from shop.bench.electrical.heating import HeatingCurve

# Quantities that every soak reads, with their units; others may be added freely.
SINK, OFFSET, BIAS, TRIPS = "sink_celsius", "offset_millivolts", "bias_millivolts", "trips"
READING_MINUTES = 5.0  # a reading so much off its time is in time
WARM_UP_MINUTES = 30.0  # drift is judged after it: common practice


@dataclass(frozen=True, slots=True)
class SoakPlan:
    """Hours, times of readings in minutes from the start, and how many readings that makes."""

    hours: float
    reading_minutes: tuple[float, ...]
    readings: int


def soak_plan(hours: float = 4.0, interval_minutes: float = 60.0) -> SoakPlan:
    """Return when to read: at the start, after 10 and 30 minutes, then at each interval to the end.

    hours 0.25..240 h, interval_minutes 5..240 min.
    Formula: 0, 10, 30 min, then every interval, and the end.
    Caution: WARNING. Never leave the building while a repaired unit runs for the first time.
    Source: common practice.
    """
    end = within("hours", hours, 0.25, 240, "h") * 60
    step = within("interval_minutes", interval_minutes, 5, 240, "min")
    times = {0.0, 10.0, 30.0, end, *(step * n for n in range(1, math.floor(end / step) + 1))}
    kept = tuple(sorted(time for time in times if time <= end))
    return SoakPlan(end / 60, kept, len(kept))


@dataclass(frozen=True, slots=True)
class Drift:
    """A straight line through the later readings: change per hour, and whether it is more than noise."""

    per_hour: float
    half_width: float
    at_end: float
    significant: bool


def drift(minutes: Sequence[float], values: Sequence[float]) -> Drift | None:
    """Return the slope per hour with its 95 % interval; None with fewer than four readings.

    Source: least squares, SciPy linregress.
    """
    if len(minutes) < 4 or minutes[0] == minutes[-1]:
        return None
    # Imported where it is asked for: each process and command would load it otherwise.
    from scipy import stats  # noqa: PLC0415

    line = stats.linregress(list(minutes), list(values))
    half = float(stats.t.ppf(0.975, len(minutes) - 2) * line.stderr)
    at_end = float(line.intercept + line.slope * minutes[-1])
    clear = abs(line.slope) > half
    return Drift(float(line.slope) * 60, half * 60, at_end, bool(clear))


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a soak, in minutes from its start."""

    quantity: str
    minutes: float
    value: float


@dataclass(frozen=True, slots=True)
class Limit:
    """The band a quantity must stay in; None: no bound."""

    low: float | None = None
    high: float | None = None

    def holds(self, value: float) -> bool:
        """Whether the value lies within."""
        below = self.low is not None and value < self.low
        return not below and not (self.high is not None and value > self.high)

    @property
    def text(self) -> str:
        """The band in words."""
        if self.low is not None and self.high is not None:
            return f"{self.low:g} to {self.high:g}"
        if self.high is not None:
            return f"at most {self.high:g}"
        return f"at least {self.low:g}" if self.low is not None else "no limit"


@dataclass(frozen=True, kw_only=True)
class SoakVerdict:
    """What the readings say: failed, doubtful or passed, with every reason."""

    verdict: str
    reasons: tuple[str, ...]
    doubts: tuple[str, ...]
    curve: HeatingCurve | None
    drifts: dict[str, Drift]

    @property
    def failed(self) -> bool:
        """Whether it cannot be signed as passed."""
        return self.verdict == "failed"


def grouped(readings: Sequence[Reading]) -> dict[str, list[Reading]]:
    """Return the readings by quantity, each in the order of time."""
    by_quantity: dict[str, list[Reading]] = {}
    for reading in sorted(readings, key=lambda reading: reading.minutes):
        by_quantity.setdefault(reading.quantity, []).append(reading)
    return by_quantity


def verdict(
    readings: Sequence[Reading],
    limits: dict[str, Limit],
    hours: float,
    interval_minutes: float = 60.0,
) -> SoakVerdict:
    """Return the verdict of a soak from its readings, in any order.

    limits by quantity: what has one is planned, trips are counted as they come. hours planned.
    Failed: a reading outside its limit or no number, a trip, a sink that will not settle below
    its limit. Doubtful: a planned reading that was not taken, what cannot be told yet, a drift
    that would leave the limit if it went on for eight hours more (common practice), readings
    that stop before nine tenths of the planned hours.
    ValueError with a sentence for a time that is none.
    """
    _require_times(readings)
    by_quantity = grouped(readings)
    reasons = _no_numbers(by_quantity) or _outside(by_quantity, limits)
    if any(not math.isfinite(reading.value) for reading in readings):
        return SoakVerdict(
            verdict="failed", reasons=tuple(reasons), doubts=(), curve=None, drifts={}
        )
    curve = _curve(by_quantity.get(SINK, []), limits.get(SINK))
    doubts = _unsettled(curve, reasons)
    drifts = _drifts(by_quantity)
    doubts += _drifting(drifts, limits)
    last = max((reading.minutes for reading in readings), default=0.0)
    if last < hours * 60 * 0.9:
        doubts.append(f"The last reading is from {last / 60:.1f} h; {hours:g} h are planned.")
    doubts += _left_out(by_quantity, limits, soak_plan(hours, interval_minutes), last)
    word = "failed" if reasons else "doubtful" if doubts else "passed"
    return SoakVerdict(
        verdict=word, reasons=tuple(reasons), doubts=tuple(doubts), curve=curve, drifts=drifts
    )


def _require_times(readings: Sequence[Reading]) -> None:
    for reading in readings:
        within(f"minutes of {spoken(reading.quantity)}", reading.minutes, 0, 1e6, "min")


def _no_numbers(by_quantity: dict[str, list[Reading]]) -> list[str]:
    return [
        f"{spoken(quantity)} after {reading.minutes:.0f} min is no number: read it again."
        for quantity, readings in by_quantity.items()
        for reading in readings
        if not math.isfinite(reading.value)
    ]


def _left_out(
    by_quantity: dict[str, list[Reading]], limits: dict[str, Limit], plan: SoakPlan, last: float
) -> list[str]:
    """Return a doubt for each planned quantity with planned readings that were not taken so far."""
    over = last >= plan.hours * 60 * 0.9
    due = [time for time in plan.reading_minutes if over or time <= last]
    doubts = []
    for quantity, limit in limits.items():
        if quantity == TRIPS or (limit.low is None and limit.high is None):
            continue
        taken = [reading.minutes for reading in by_quantity.get(quantity, [])]
        absent = [time for time in due if not _taken(time, taken, plan.reading_minutes)]
        if absent or not taken:
            doubts.append(_without(spoken(quantity), absent if taken else [], plan.readings))
    return doubts


def _taken(planned: float, taken: list[float], plan: Sequence[float]) -> bool:
    """Whether one was taken near enough: within a third of the way to the next or last planned.

    Five minutes at least. Common practice.
    """
    place = plan.index(planned)
    before = planned - plan[place - 1] if place else 0.0
    after = plan[place + 1] - planned if place + 1 < len(plan) else before
    early, late = (max(READING_MINUTES, gap / 3) for gap in (before, after))
    return any(planned - early <= minutes <= planned + late for minutes in taken)


def _without(name: str, absent: list[float], planned: int) -> str:
    if not absent:
        return f"No {name} was read; {planned} readings are planned."
    times = ", ".join(f"{time:.0f}" for time in absent[:6])
    more = f" and {len(absent) - 6} more" if len(absent) > 6 else ""
    return f"{name} was not read at {times} min{more}, as planned.".capitalize()


def _outside(by_quantity: dict[str, list[Reading]], limits: dict[str, Limit]) -> list[str]:
    reasons = [_tripped(by_quantity.get(TRIPS, []))]
    reasons += [
        _worst(quantity, readings, limits[quantity])
        for quantity, readings in by_quantity.items()
        if quantity in limits and quantity != TRIPS
    ]
    return [reason for reason in reasons if reason]


def _tripped(readings: list[Reading]) -> str:
    # A correction below nothing cannot undo a trip that was read.
    total = sum(reading.value for reading in readings if reading.value > 0)
    return f"It tripped {total:g} time{'s' if total != 1 else ''}." if total > 0 else ""


def _worst(quantity: str, readings: list[Reading], limit: Limit) -> str:
    """Return the reading farthest out in words, or nothing when all hold."""
    beyond = [reading for reading in readings if not limit.holds(reading.value)]
    if not beyond:
        return ""
    worst = max(beyond, key=lambda reading: abs(reading.value))
    name = quantity.replace("_", " ")
    return f"{name} was {worst.value:g} after {worst.minutes:.0f} min; {limit.text} holds."


def _curve(readings: list[Reading], limit: Limit | None) -> HeatingCurve | None:
    points = {reading.minutes: reading.value for reading in readings}
    if limit is None or limit.high is None:
        return None
    return _heated(tuple(points), tuple(points.values()), limit.high)


@lru_cache(maxsize=256)
def _heated(
    minutes: tuple[float, ...], celsius: tuple[float, ...], limit: float
) -> HeatingCurve | None:
    """Return the curve of a sink. A page asks several times for that of the same readings."""
    from shop.bench.electrical import heating  # noqa: PLC0415 - with the libraries of numbers

    if len(minutes) < heating.FEWEST:
        return None
    try:
        return heating.heating_curve(minutes, celsius, limit)
    except ValueError:
        return None


def _unsettled(curve: HeatingCurve | None, reasons: list[str]) -> list[str]:
    if curve is None or curve.verdict in ("will-settle", "has-settled"):
        return []
    if curve.verdict == "will-not-settle":
        reasons.append(curve.says)
        return []
    return [curve.says]


def _drifts(by_quantity: dict[str, list[Reading]]) -> dict[str, Drift]:
    drifts = {}
    for quantity, readings in by_quantity.items():
        late = [reading for reading in readings if reading.minutes >= WARM_UP_MINUTES]
        slope = None
        if quantity not in (SINK, TRIPS):
            slope = drift([r.minutes for r in late], [r.value for r in late])
        if slope is not None:
            drifts[quantity] = slope
    return drifts


def _drifting(drifts: dict[str, Drift], limits: dict[str, Limit]) -> list[str]:
    doubts = []
    for quantity, slope in drifts.items():
        limit = limits.get(quantity)
        if limit and slope.significant and not limit.holds(slope.at_end + 8 * slope.per_hour):
            name = quantity.replace("_", " ")
            doubts.append(
                f"{name} drifts by {slope.per_hour:+.2g} an hour: eight more hours would take it"
                f" out of its limit ({limit.text})."
            )
    return doubts
