from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from shop.jobs import commands, guards, queries
from shop.jobs.models import Job
from shop.jobs.stages import Power
from tests.factories import JobFactory, PersonFactory
from tests.helpers_plain import amplifier, flat

__all__ = ["Bench", "TestPeople", "amplifier", "flat", "reading_outside", "reading_within"]

ROLES = ("owner", "technician", "desk", "viewer")


@dataclass
class TestPeople:
    """One person of each role, and one who may do nothing."""

    __test__ = False
    owner: User
    technician: User
    desk: User
    viewer: User
    nobody: User

    @classmethod
    def make(cls) -> TestPeople:
        made = {role: PersonFactory(username=role, role=role) for role in ROLES}
        return cls(nobody=PersonFactory(username="nobody"), **made)

    def named(self, role: str) -> User:
        return getattr(self, role)


def reading_within(reading: Any) -> float:
    """A value that passes."""
    if reading.low is not None and reading.high is not None:
        return (reading.low + reading.high) / 2
    if reading.low is not None:
        return reading.low + 1
    return reading.high if reading.high is not None else 1.0


def reading_outside(reading: Any) -> float:
    return reading.high + 1 if reading.high is not None else reading.low - 1


class Bench:
    """Hands on the commands, for tests: short verbs, always the same person, always now."""

    def __init__(self, by: User) -> None:
        self.by = by

    def receive(self, **unit: Any) -> int:
        return JobFactory(by=self.by, **unit).number

    def job(self, number: int) -> Job:
        return Job.objects.get(pk=number)

    def traveller(self, number: int) -> queries.Traveller:
        return queries.Traveller.of(self.job(number))

    def step(self, number: int, key: str) -> Any:
        return self.traveller(number).checklist.by_key[key]

    def state(self, number: int, key: str) -> str:
        return self.step(number, key).state

    def sign(self, number: int, key: str, result: str = "pass", **more: Any) -> Any:
        if "readings" not in more:
            step = self.step(number, key)
            more["readings"] = [(r.quantity, reading_within(r)) for r in step.readings]
        return commands.sign(number, key, result=result, by=self.by, at=timezone.now(), **more)

    def pass_gate(self, number: int, gate: str) -> None:
        for step in self.traveller(number).checklist.unmet(gate):
            self.sign(number, step.key)

    def power(self, number: int, to: str) -> Job:
        return commands.set_power(number, to, by=self.by, at=timezone.now())

    def cover(self, number: int, to: str) -> Job:
        return commands.set_cover(number, to, by=self.by, at=timezone.now())

    def stage(self, number: int, to: str) -> Job:
        return commands.set_stage(number, to, by=self.by, at=timezone.now())

    def record(self, number: int, kind: str, **data: Any) -> Any:
        return commands.record(number, kind, data, by=self.by, at=timezone.now())

    def kinds(self, number: int) -> list[str]:
        return list(
            self.job(number).ledger.order_by("sequence").values_list("event_type", flat=True)
        )

    def open_up(self, number: int) -> None:
        """From received to opened with the cover off."""
        self.stage(number, "reproducing")
        self.pass_gate(number, "open-up")
        self.stage(number, "opened")
        self.cover(number, "off")

    def power_gate(self, number: int) -> str:
        """The gate that mains has to pass first."""
        touched = self.traveller(number).record.history.touched
        return guards.gates_for(Power.LIMITED, touched=touched)[0]

    def limited(self, number: int) -> None:
        gate = self.power_gate(number)
        self.pass_gate(number, gate)
        self.power(number, "limited")

    def full(self, number: int) -> None:
        self.limited(number)
        self.pass_gate(number, "full-power")
        self.power(number, "full")

    def to_soak(self, number: int) -> None:
        """From opened to the stage of the soak, its clock not started yet."""
        self.cover(number, "on")
        self.stage(number, "reassembled")
        self.full(number)
        self.pass_gate(number, "soak")
        self.stage(number, "soaking")

    def soak(self, number: int) -> None:
        """From received, through the bench, to a soak that has ended well, mains still on."""
        self.open_up(number)
        self.to_soak(number)
        self.record(number, "soak_started")
        self.record(number, "soak_ended")
