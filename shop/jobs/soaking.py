"""The soak of a job: its plan by the rules' limits, its readings on one clock, and its verdict."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from checklists.engine.checklist import Checklist
from checklists.engine.roles import ReadingRole, StepRole
from shop.bench.electrical import soak
from shop.jobs.record import AnyRow, Record

# What people call the quantities that every soak reads.
_CALLED = {
    "sink": soak.SINK,
    "heat_sink": soak.SINK,
    "sink_temperature": soak.SINK,
    "heat_sink_temperature": soak.SINK,
    "temperature": soak.SINK,
    "offset": soak.OFFSET,
    "dc_offset": soak.OFFSET,
    "bias": soak.BIAS,
    "trip": soak.TRIPS,
}
USUAL_HOURS = 4.0
READING_GRACE = timedelta(minutes=5)
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Soak:
    """One soak: when it began and ended, what is planned, what was read."""

    state: str
    started: datetime | None
    ended: datetime | None
    plan: soak.SoakPlan
    limits: dict[str, soak.Limit]
    rows: tuple[AnyRow, ...]

    @cached_property
    def readings(self) -> list[soak.Reading]:
        """The readings, in minutes from the start."""
        return [
            soak.Reading(
                known_quantity(row.data["quantity"]), self._minutes(row.at), row.data["value"]
            )
            for row in self.rows
        ]

    @cached_property
    def verdict(self) -> soak.SoakVerdict:
        """What the readings say."""
        return soak.verdict(self.readings, self.limits, self.plan.hours)

    def _minutes(self, at: datetime) -> float:
        return max(0.0, (at - self.started) / _MINUTE) if self.started else 0.0

    def run_minutes(self, now: datetime) -> float:
        """Return how long it has run by the record's clock, in minutes."""
        return self._minutes(self.ended or now)

    def next_due(self, now: datetime) -> datetime | None:
        """Return when the next reading is due; in the past when one was left out, None when done."""
        if self.state != "running" or self.started is None:
            return None
        last = max((reading.minutes for reading in self.readings), default=-5.0)
        # A reading a few minutes early stands for the planned one.
        ahead = [minute for minute in self.plan.reading_minutes if minute > last + 4]
        return self.started + ahead[0] * _MINUTE if ahead else None

    def overdue(self, now: datetime) -> datetime | None:
        """Return when a reading that is late by more than the grace was due; None when none is."""
        due = self.next_due(now)
        return due if due is not None and due < now - READING_GRACE else None


def known_quantity(name: str) -> str:
    """Return the quantity by its one name: 'Heat sink' is sink_celsius; others stay as typed."""
    plain = "_".join(str(name).lower().replace("-", " ").split())
    return _CALLED.get(plain, plain)


def soak_of(record: Record, checklist: Checklist) -> Soak | None:
    """Return the last soak of a job with the limits that hold now; None when none was started."""
    starts = record.of_type("soak_started")
    if not starts:
        return None
    since = starts[-1]
    later = [row for row in record.rows if row.sequence > since.sequence]
    ends = [row for row in later if row.event_type in ("soak_ended", "power_removed")]
    until = ends[0].sequence if ends else float("inf")
    rows = tuple(r for r in later if r.event_type == "soak_reading" and r.sequence < until)
    return Soak(
        record.soak,
        since.at,
        ends[0].at if ends else None,
        plan_for(checklist),
        limits_for(checklist),
        rows,
    )


def plan_for(checklist: Checklist) -> soak.SoakPlan:
    """Return when to read, for the hours that the rules ask of this unit."""
    hours = _limit(checklist, StepRole.SOAK, ReadingRole.HOURS).low
    return soak.soak_plan(min(max(hours or USUAL_HOURS, 0.25), 240.0))


def limits_for(checklist: Checklist) -> dict[str, soak.Limit]:
    """Return the limits of the usual quantities from the steps that set them."""
    sink = _limit(checklist, StepRole.SOAK, ReadingRole.HIGHEST_SINK)
    offset = _limit(checklist, StepRole.OUTPUT_OFFSET, ReadingRole.OFFSET)
    return {soak.SINK: sink, soak.OFFSET: offset, soak.TRIPS: soak.Limit(high=0)}


def _limit(checklist: Checklist, role: StepRole, of: ReadingRole) -> soak.Limit:
    step = checklist.with_role(role)
    if step is None:
        return soak.Limit()
    reading = step.reading_with_role(of)
    return soak.Limit(reading.low, reading.high)
