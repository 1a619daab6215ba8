"""One unit's way through the demo shop, told through the same doors that people use."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from checklists.engine import doing, exposures
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.listed import ListedReading
from checklists.engine.pack import Step
from checklists.engine.words import COVER_OFF, FULL, HANDS, LIMITED, LIVE
from shop.intake import services as intake_services
from shop.jobs import commands, events, queries, sheets
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.jobs.recorded_readings import recorded_readings

# What an act takes.
_PACE = timedelta(minutes=3)
# Rounds of signing after which what is asked must be clear: some steps bring others with them.
_ROUNDS = 6


class Story:
    """One unit's way through the shop, told through the same commands that people give."""

    def __init__(self, by: User, begins: datetime, **unit: Any) -> None:
        self.by = by
        self.at = begins
        self.number = intake_services.receive(by=by, at=begins, **unit).number

    def later(self, **step: float) -> Story:
        """Let time pass."""
        self.at += timedelta(**step)
        return self

    def today(self, hour: float) -> Story:
        """Jump to so many hours before the demo is written."""
        self.at = max(self.at, timezone.now() - timedelta(hours=hour))
        return self

    def _now(self) -> datetime:
        self.at += _PACE
        return self.at

    @property
    def job(self) -> Job:
        """The job as it stands."""
        return queries.job(self.number, self.at)

    def _record(self) -> Record:
        """The record as the next act finds it: a night may end a sign-off, one to come does not."""
        job = self.job
        return events.reduce(job, queries.rows_of(job), now=self.at + _PACE)

    def _checklist(self) -> Checklist:
        return sheets.checklist_for(self._record())

    def wrote(self, kind: str, **data: Any) -> Story:
        """Record something."""
        commands.record(self.number, kind, data, by=self.by, at=self._now())
        return self

    def signed(self, key: str, result: str = "pass", note: str = "", **readings: float) -> Story:
        """Sign a step."""
        commands.sign(
            self.number,
            key,
            result=result,
            note=note,
            readings=list(readings.items()),
            by=self.by,
            at=self._now(),
        )
        return self

    def moved(self, **where: str) -> Story:
        """Move power, cover or stage."""
        doors: dict[str, Callable[..., Any]] = {
            "power": commands.set_power,
            "cover": commands.set_cover,
            "stage": commands.set_stage,
        }
        for what, to in where.items():
            doors[what](self.number, to, by=self.by, at=self._now())
        return self

    def opened(self, **readings: float) -> Story:
        """Mains off, the cover off, and dead proved before a hand goes in."""
        if self.job.power != "isolated":
            self.moved(power="isolated")
        self.cleared(COVER_OFF, **readings)
        return self.moved(cover="off").cleared(HANDS, **readings)

    def inside(self, kind: str, **data: Any) -> Story:
        """Record what a hand did in the open unit, dead proved anew where a night has passed."""
        return self.cleared(HANDS).wrote(kind, **data)

    def closed(self, **readings: float) -> Story:
        """Do what is done inside before mains may come back, and put the cover on."""
        for step in self._asked(LIMITED):
            if step.step.needs_cover == "off" and not step.step.of_the_bench:
                self._do(step, readings)
        return self.moved(cover="on")

    def limited(self, **readings: float) -> Story:
        """Mains through the limiter, everything signed that it asks."""
        job = self.job
        if job.power == "full":
            self.moved(power="isolated")
        live = (LIVE,) if job.cover == "off" else ()
        return self.cleared(LIMITED, *live, **readings).moved(power="limited")

    def full(self, **readings: float) -> Story:
        """Mains without the limiter, the unit tried on it first."""
        if self.job.power == "full":
            return self
        if not doing.tried(self._checklist()):
            self.limited(**readings)
        return self.cleared(FULL, **readings).moved(power="full")

    def cleared(self, *met: str, **readings: float) -> Story:
        """Sign what exposures ask, of the unit first and of the bench last, the cover as it was.

        Readings are by quantity; one that is required and not given is what a healthy unit shows.
        """
        cover = self.job.cover
        for _ in range(_ROUNDS):
            asked = self._asked(*met)
            if not asked:
                break
            for step in (s for s in asked if not s.step.of_the_bench):
                self._do(step, readings)
            if self.job.cover != cover:
                self.moved(cover=cover)
            for step in (s for s in asked if s.step.of_the_bench):
                self._sign(step, readings)
        return self

    def _asked(self, *met: str) -> list[ListedStep]:
        checklist = self._checklist()
        asked = {h.step.key: h.step for e in met for h in exposures.against(e, checklist)}
        return list(asked.values())

    def _do(self, step: ListedStep, readings: dict[str, float]) -> None:
        """Do what comes before a step, go to the state it is done in, and sign it."""
        listed = self._checklist().by_key if step.step.needs_steps else {}
        for key in step.step.needs_steps:
            if key in listed and not listed[key].stands:
                self._do(listed[key], readings)
        self._ready_for(step.step)
        self._sign(step, readings)

    def _ready_for(self, step: Step) -> None:
        """Bring power and cover to where a step is done."""
        job = self.job
        power = step.needs_power if job.power not in step.needs_power else ()
        cover = step.needs_cover if step.needs_cover not in ("", job.cover) else ""
        if (cover and job.power != "isolated") or "isolated" in power:
            self.moved(power="isolated")
        if cover == "off":
            self.opened()
        elif cover:
            self.moved(cover=cover)
        if step.by_hand:
            self.cleared(HANDS)
        if power and "isolated" not in power:
            self.full() if power == ("full",) else self.limited()

    def _sign(self, step: ListedStep, readings: dict[str, float]) -> None:
        known = recorded_readings(self._record(), step) if step.step.role else {}
        asked = [r for r in step.readings if r.quantity not in known]
        mine = {r.quantity: readings[r.quantity] for r in asked if r.quantity in readings}
        usual = {r.quantity: _within(r) for r in asked if r.required}
        self.signed(step.key, "pass", "", **(usual | mine))


def _within(reading: ListedReading) -> float:
    """Return a value that a healthy unit might show."""
    if reading.low is not None and reading.high is not None:
        return (reading.low + reading.high) / 2
    if reading.low is not None:
        return reading.low * 1.5 + 1
    return reading.high * 0.3 if reading.high is not None else 1.0
