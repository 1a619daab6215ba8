"""The soak of a job: its plan by the rules' limits, its readings on one clock, and its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from django.utils.translation import gettext as _

from checklists.engine.checklist import Checklist
from checklists.engine.roles import ReadingRole, StepRole
from shop.bench.electrical import soak
from shop.jobs.record import Record, SoakRun

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
# What an instrument measures for each, a word of MEASURED.
MEASURES = {soak.SINK: "temperature", soak.OFFSET: "dc-voltage", soak.BIAS: "dc-voltage"}
USUAL_HOURS = 4.0
READING_GRACE = timedelta(minutes=5)
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, kw_only=True)
class Soak:
    """One soak: what was recorded of it, what is planned, and its limits."""

    run: SoakRun
    plan: soak.SoakPlan
    limits: dict[str, soak.Limit]

    @property
    def state(self) -> str:
        """How it stands: running, interrupted, passed or failed."""
        return self.run.state

    @cached_property
    def readings(self) -> list[soak.Reading]:
        """The readings, in minutes from the start."""
        return [
            soak.Reading(known_quantity(one.quantity), self._minutes(one.at), one.value)
            for one in self.run.readings
        ]

    @cached_property
    def verdict(self) -> soak.SoakVerdict:
        """What the readings say."""
        return soak.verdict(self.readings, self.limits, self.plan.hours)

    def _minutes(self, at: datetime) -> float:
        return max(0.0, (at - self.run.started_at) / _MINUTE)

    def run_minutes(self, now: datetime) -> float:
        """Return how long it has run by the record's clock, in minutes."""
        return self._minutes(self.run.ended_at or now)

    def next_due(self, now: datetime) -> datetime | None:
        """Return when the next reading is due; in the past when one was left out, None when done."""
        if self.state != "running":
            return None
        last = max((reading.minutes for reading in self.readings), default=-5.0)
        # A reading a few minutes early stands for the planned one.
        ahead = [minute for minute in self.plan.reading_minutes if minute > last + 4]
        return self.run.started_at + ahead[0] * _MINUTE if ahead else None

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
    if record.soak_run is None:
        return None
    return Soak(run=record.soak_run, plan=plan_for(checklist), limits=limits_for(checklist))


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


def warmest(facts: Mapping[str, object]) -> str:
    """Return what of a unit is read in its soak: common practice where there is no heat sink."""
    stage = str(facts.get("unit.output_stage", ""))
    if stage.startswith("valve"):
        return _("the mains transformer")
    return _("the hottest part") if stage == "none" else _("the heat sink")
