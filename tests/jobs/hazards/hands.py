"""Honest hands on the commands: they sign what the state of the unit lets them do."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from checklists.engine.checklist import ListedStep
from checklists.engine.roles import StepRole
from shop.jobs import commands
from shop.jobs.commands.signing import NotListed
from shop.jobs.models import Job, Permit
from shop.lib.refusals import BadInput, Refused
from tests.helpers import reading_within
from tests.jobs.steady import SteadyBench

# Steps whose figures the record knows.
_COUNTED = (StepRole.SOAK, StepRole.CLEAN_TRIALS)
_ROUNDS = 6


class Hands(SteadyBench):
    """A technician with a clock of their own: each act takes a minute, `wait` takes longer."""

    def __init__(self, by: Any, clock: Any) -> None:
        super().__init__(by)
        self.clock = clock

    def wait(self, **time: float) -> datetime:
        """Let time pass and return what it is then."""
        self.clock.shift(timedelta(**time))
        return timezone.now()

    def receive(self, facts: dict[str, Any] | None = None, **unit: Any) -> int:
        named = {"make": "Test Works", "model": "Model 1", "serial": "", **unit}
        now = self.wait(minutes=1)
        return commands.receive(by=self.by, at=now, facts=facts, **named).number

    def record(self, number: int, kind: str, **data: Any) -> Any:
        self.wait(minutes=1)
        return super().record(number, kind, **data)

    def sign(self, number: int, key: str, result: str = "pass", **more: Any) -> Any:
        self.wait(minutes=1)
        return super().sign(number, key, result, **more)

    def try_to_sign(self, number: int, key: str) -> bool:
        """Sign it as passed, by the record where it knows the figures; False when it is refused."""
        listed = self.traveller(number).checklist.by_key.get(key)
        return listed is not None and self._signed(number, listed)

    def _signed(self, number: int, listed: ListedStep) -> bool:
        known = listed.step.role in _COUNTED
        readings = [] if known else [(r.quantity, reading_within(r)) for r in listed.readings]
        try:
            return bool(self.sign(number, listed.key, readings=readings).stands)
        except (BadInput, Refused, NotListed):
            return False

    def sign_all(self, number: int, *, without: tuple[str, ...] = ()) -> set[str]:
        """Sign all that can be signed in the present state, in rounds: one may wait for another."""
        signed: set[str] = set()
        for _ in range(_ROUNDS):
            left = [one for one in self.doable(number) if one.key not in without]
            done = {one.key for one in left if self._signed(number, one)}
            signed |= done
            if not done:
                break
        return signed

    def doable(self, number: int) -> list[ListedStep]:
        """Open steps that are done with power and cover as they are."""
        traveller = self.traveller(number)
        power, cover = traveller.job.power, traveller.job.cover
        return [
            one
            for one in traveller.checklist.steps
            if not one.stands
            if not one.step.needs_power or power in one.step.needs_power
            if one.step.needs_cover in ("", cover)
        ]

    def listed(self, number: int) -> set[str]:
        return set(self.traveller(number).checklist.by_key)

    def unmet(self, number: int, gate: str) -> set[str]:
        return {step.key for step in self.traveller(number).checklist.unmet(gate)}

    def live_permit(self, number: int) -> Permit | None:
        return Permit.objects.filter(job=number, ended_at=None).first()

    def opened(self, number: int, *, without: tuple[str, ...] = ()) -> None:
        """From the door to the open unit, discharged and proved dead."""
        self.stage(number, "opened")
        self.sign_all(number, without=without)
        self.cover(number, "off")
        self.sign_all(number, without=without)

    def on_limiter(self, number: int, *, without: tuple[str, ...] = ()) -> None:
        self.sign_all(number, without=without)
        self.power(number, "limited")

    def on_full(self, number: int, *, without: tuple[str, ...] = ()) -> None:
        self.on_limiter(number, without=without)
        self.sign_all(number, without=without)
        self.power(number, "full")

    def after_mains(self, number: int) -> None:
        """Opened, proved dead, then on the limiter with the cover off, and mains off again."""
        self.opened(number)
        self.on_limiter(number)
        self.power(number, "isolated")

    def closed(self, number: int) -> None:
        """From opened to closed again, with all that is tested isolated and closed."""
        self.cover(number, "on")
        self.stage(number, "reassembled")
        self.sign_all(number)

    def soaking(self, number: int, *, without: tuple[str, ...] = ()) -> None:
        """From closed to a soak that has begun."""
        self.on_full(number, without=without)
        self.sign_all(number, without=without)
        self.stage(number, "soaking")

    def soaked(self, number: int, *, hours: float = 5.0) -> None:
        """From closed to a soak that has ended well, mains off."""
        self.soaking(number)
        self.record(number, "soak_started")
        self.wait(hours=hours)
        self.record(number, "soak_reading", quantity="sink", value=41.0)
        self.record(number, "soak_ended")
        self.sign_all(number)
        self.power(number, "isolated")

    def ready_to_leave(self, number: int) -> None:
        """From the door through opening and soak, all signed, nothing left but to release."""
        self.opened(number)
        self.closed(number)
        self.soaked(number)
        self.sign_all(number)

    def handed_back(self, number: int) -> None:
        """As it came, nothing cured: closed, made unusable, labelled and told in writing."""
        for key in ("hand-back-unusable", *self.unmet(number, "hand-back")):
            self.try_to_sign(number, key)
        self.stage(number, "withdrawn")


def refused(act: Any, *args: Any, **more: Any) -> Refused:
    """Do what must be refused and return the refusal."""
    with pytest.raises(Refused) as caught:
        act(*args, **more)
    return caught.value


def codes(refusal: Refused) -> set[str]:
    return {one.code for one in refusal.refusals}


def steps(refusal: Refused) -> set[str]:
    return {one.step for one in refusal.refusals if one.step}


def state(job: Job) -> tuple[str, str, bool]:
    return str(job.power), str(job.cover), job.unplug_due


__all__ = ["Hands", "codes", "reading_within", "refused", "state", "steps"]
