from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from checklists.engine import exposures
from checklists.engine.checklist import ListedStep
from checklists.engine.pack import Step
from checklists.engine.words import COVER_OFF, FULL, HANDS, LEAVE, LIMITED, LIVE, UNATTENDED
from shop.jobs import commands, queries
from shop.jobs.models import Job
from tests.factories import JobFactory, PersonFactory
from tests.helpers_plain import amplifier, flat

__all__ = [
    "Bench",
    "TestPeople",
    "amplifier",
    "answer_to",
    "flat",
    "reading_outside",
    "reading_within",
]

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


# What hands see on a healthy unit of which nothing was said; else the first word, or yes.
_SEEN: dict[str, Any] = {"intake.damage": ["none"], "complaint.intermittent": False}


def answer_to(answer: Any) -> Any:
    """A value that a fact asked for can have."""
    if answer.fact in _SEEN:
        return _SEEN[answer.fact]
    word = answer.one_of[0] if answer.one_of else None
    plain = {"string": word, "list": [word], "bool": True}
    return plain.get(answer.kind, 1)


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
        listed = self.traveller(number).checklist.by_key.get(key)
        if listed and "readings" not in more:
            more["readings"] = [(r.quantity, reading_within(r)) for r in listed.readings]
        if listed and "answers" not in more and result == "pass":
            more["answers"] = [(one.fact, answer_to(one)) for one in listed.answers]
        return commands.sign(number, key, result=result, by=self.by, at=timezone.now(), **more)

    def pass_gate(self, number: int, gate: str) -> None:
        """Sign what is open at a gate, each step in the state of the unit that it needs."""
        for listed in self.traveller(number).checklist.unmet(gate):
            self.ready_for(number, listed.step)
            self._sign_if_listed(number, listed.key)
        # Whatever was measured last, a unit leaves with its plug out.
        if gate == "release" and self.job(number).power != "isolated":
            self.power(number, "isolated")

    def pass_steps(self, number: int, *keys: str) -> None:
        """Sign steps one after the other, each in the state of the unit that it needs."""
        for key in keys:
            self.ready_for(number, self.step(number, key).step)
            self.sign(number, key)

    def clear(self, number: int, *met: str) -> None:
        """Sign all that exposures ask, of the unit first and of the bench last, the cover as it is."""
        cover = self.job(number).cover
        for _ in range(6):
            asked = self.asked(number, *met)
            for listed in [s for s in asked if not s.step.of_the_bench]:
                self.ready_for(number, listed.step)
                self._sign_if_listed(number, listed.key)
            if self.job(number).cover != cover:
                self.cover(number, cover)
            for listed in [s for s in asked if s.step.of_the_bench]:
                self._sign_if_listed(number, listed.key)
            if not self.asked(number, *met):
                return

    def _sign_if_listed(self, number: int, key: str) -> None:
        """Sign a step, unless an answer on the way has taken it off the list."""
        if key in self.traveller(number).checklist.by_key:
            self.sign(number, key)

    def asked(self, number: int, *met: str) -> list[ListedStep]:
        """What stands in the way of exposures, in the order of the list."""
        checklist = self.traveller(number).checklist
        return [h.step for exposure in met for h in exposures.against(exposure, checklist)]

    def ready_for(self, number: int, step: Step) -> None:
        """Do what comes before a step, then bring power and cover to where it is done."""
        listed = self.traveller(number).checklist.by_key
        for key in step.needs_steps:
            if key in listed and not listed[key].stands:
                self.ready_for(number, listed[key].step)
                self._sign_if_listed(number, key)
        job = self.job(number)
        power = step.needs_power if step.needs_power and job.power not in step.needs_power else ()
        cover = step.needs_cover if step.needs_cover not in ("", job.cover) else ""
        if (cover and job.power != "isolated") or "isolated" in power:
            self.power(number, "isolated")
        if cover == "off":
            self.clear(number, COVER_OFF)
        if cover:
            self.cover(number, cover)
        if step.by_hand:
            self.clear(number, HANDS)
        if power and "isolated" not in power:
            self.full(number) if power == ("full",) else self.limited(number)

    def leave_gates(self, number: int) -> None:
        """Sign all that leaving asks, and isolate: from a soak that has ended well."""
        self.power(number, "isolated")
        self.clear(number, LEAVE)
        self.power(number, "isolated")

    def power(self, number: int, to: str) -> Job:
        return commands.set_power(number, to, by=self.by, at=timezone.now())

    def cover(self, number: int, to: str) -> Job:
        return commands.set_cover(number, to, by=self.by, at=timezone.now())

    def stage(self, number: int, to: str) -> Job:
        return commands.set_stage(number, to, by=self.by, at=timezone.now())

    def record(self, number: int, kind: str, **data: Any) -> Any:
        return commands.record(number, kind, data, by=self.by, at=timezone.now())

    def record_late(self, number: int, kind: str, **data: Any) -> Any:
        """Tell afterwards, whatever the state of the unit, what was done a minute ago."""
        done_at = (timezone.now() - timedelta(minutes=1)).isoformat()
        return self.record(number, kind, late="forgotten", done_at=done_at, **data)

    def kinds(self, number: int) -> list[str]:
        return list(
            self.job(number).ledger.order_by("sequence").values_list("event_type", flat=True)
        )

    def open_up(self, number: int) -> None:
        """From received to opened with the cover off."""
        self.stage(number, "reproducing")
        self.clear(number, COVER_OFF)
        self.stage(number, "opened")
        self.cover(number, "off")
        self.clear(number, HANDS)

    def entry_gate(self, number: int) -> str:
        """The gate that mains has to pass first."""
        return exposures.entry_gate(self.traveller(number).checklist)

    def live(self, number: int) -> tuple[str, ...]:
        """The exposure that mains adds to an open unit."""
        return (LIVE,) if self.job(number).cover == "off" else ()

    def limited(self, number: int) -> None:
        """Mains through the limiter, everything signed that it asks."""
        if self.job(number).power == "full":
            self.power(number, "isolated")
        self.clear(number, LIMITED, *self.live(number))
        self.power(number, "limited")

    def full(self, number: int) -> None:
        """Mains without the limiter, tried on it first."""
        if self.job(number).power == "full":
            return
        self.limited(number)
        self.clear_on_the_limiter(number)
        self.power(number, "full")

    def clear_on_the_limiter(self, number: int) -> None:
        """Sign what full power asks, on the limiter where it is measured there."""
        for listed in self.asked(number, FULL):
            if self.job(number).power == "isolated" and "isolated" not in listed.step.needs_power:
                self.limited(number)
            self.ready_for(number, listed.step)
            self._sign_if_listed(number, listed.key)
        if self.job(number).power == "isolated":
            self.limited(number)

    def to_soak(self, number: int) -> None:
        """From opened to the stage of the soak, its clock not started yet."""
        self.cover(number, "on")
        self.stage(number, "reassembled")
        self.full(number)
        self.clear(number, UNATTENDED)
        self.stage(number, "soaking")

    def run_soak(self, number: int, hours: float = 9) -> None:
        """Let the soak run for hours that ended just now."""
        began = timezone.now() - timedelta(hours=hours)
        commands.record(number, "soak_started", {}, by=self.by, at=began)
        self.record(number, "soak_ended")

    def soak(self, number: int) -> None:
        """From received, through the bench, to a soak that has ended well, mains still on."""
        self.open_up(number)
        self.to_soak(number)
        self.run_soak(number)
