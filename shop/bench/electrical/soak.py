"""The soak: what to read and when, and what the readings say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.stats import linregress
from scipy.stats import t as student

from shop.bench.electrical import heating
from shop.bench.inputs import within

# Quantities that every soak reads, with their units; others may be added freely.
SINK, OFFSET, BIAS, TRIPS = "sink_celsius", "offset_millivolts", "bias_millivolts", "trips"
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
    line = linregress(list(minutes), list(values))
    half = float(student.ppf(0.975, len(minutes) - 2) * line.stderr)
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
    curve: heating.HeatingCurve | None
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


def verdict(readings: Sequence[Reading], limits: dict[str, Limit], hours: float) -> SoakVerdict:
    """Return the verdict of a soak from its readings, in any order.

    limits by quantity; hours planned. Failed: a reading outside its limit, a trip, a sink that
    will not settle below its limit. Doubtful: what cannot be told yet, a drift that would leave
    the limit if it went on for eight hours more (common practice), readings that stop before
    nine tenths of the planned hours.
    """
    by_quantity = grouped(readings)
    reasons = _outside(by_quantity, limits)
    curve = _curve(by_quantity.get(SINK, []), limits.get(SINK))
    doubts = _unsettled(curve, reasons)
    drifts = _drifts(by_quantity)
    doubts += _drifting(drifts, limits)
    last = max((reading.minutes for reading in readings), default=0.0)
    if last < hours * 60 * 0.9:
        doubts.append(f"The last reading is from {last / 60:.1f} h; {hours:g} h are planned.")
    word = "failed" if reasons else "doubtful" if doubts else "passed"
    return SoakVerdict(
        verdict=word, reasons=tuple(reasons), doubts=tuple(doubts), curve=curve, drifts=drifts
    )


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


def _curve(readings: list[Reading], limit: Limit | None) -> heating.HeatingCurve | None:
    points = {reading.minutes: reading.value for reading in readings}
    if len(points) < heating.FEWEST or limit is None or limit.high is None:
        return None
    try:
        return heating.heating_curve(list(points), list(points.values()), limit.high)
    except ValueError:
        return None


def _unsettled(curve: heating.HeatingCurve | None, reasons: list[str]) -> list[str]:
    if curve is None or curve.verdict == "will-settle":
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
