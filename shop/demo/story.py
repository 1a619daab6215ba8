"""One unit's way through the demo shop, told through the same doors that people use."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from checklists.engine.checklist import Checklist
from shop.intake import services as intake_services
from shop.jobs import commands, queries


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
        self.at += timedelta(minutes=3)
        return self.at

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

    def passed_gate(self, gate: str, **readings: float) -> Story:
        """Sign every open hold step of a gate with readings by quantity."""
        for step in self.checklist().unmet(gate):
            mine = {
                r.quantity: readings[r.quantity] for r in step.readings if r.quantity in readings
            }
            self.signed(step.key, "pass", "", **mine)
        return self

    def checklist(self) -> Checklist:
        """Return the checklist as it stands."""
        return queries.Traveller.of(queries.job(self.number, self.at)).checklist

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
