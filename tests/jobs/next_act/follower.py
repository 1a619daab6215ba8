"""Hands that do only what the next act says, with a unit whose truth they know."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from shop.jobs import commands
from shop.jobs.models import Job
from shop.jobs.next_act import next_act
from tests.helpers import reading_outside, reading_within

MOST_ACTS = 600
# The same act this often in the same state is a loop; trials and readings are counted apart.
MOST_TIMES = 3
_DEEDS = ("sign", "power", "cover", "stage", "record")


@dataclass
class Truth:
    """What is so of a unit, whatever the record says.

    `findings` are seen at the look inside, `fails` are steps that fail until something is mended,
    `parts` are needed for the work, `answer` is what the customer says to an estimate.
    """

    fault: bool = True
    findings: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    fails: frozenset[str] = frozenset()
    parts: tuple[str, ...] = ()
    answer: str = "yes"
    facts: dict[str, Any] = field(default_factory=dict)


class Follower:
    """Follows one job to its end, and tells the story when it does not get there."""

    def __init__(self, number: int, truth: Truth, by: Any, clock: Any) -> None:
        self.number, self.by, self.clock = number, by, clock
        self.fault, self.facts = truth.fault, truth.facts
        self.untold, self.undone = list(truth.findings), list(truth.work)
        self.failing, self.unneeded = set(truth.fails), list(truth.parts)
        self.answer = truth.answer
        self.story: list[str] = []
        self.kinds: Counter[str] = Counter()

    @property
    def deeds(self) -> int:
        """Acts of hands: all but waiting."""
        return sum(self.kinds[kind] for kind in _DEEDS)

    def follow(self, *, until: str | None = None) -> Job:
        """Do act after act until the job is closed, or until an act of this sort; fail with the story."""
        seen: Counter[str] = Counter()
        for _ in range(MOST_ACTS):
            job = Job.objects.get(pk=self.number)
            act = next_act(job, timezone.now()).as_dict()
            if job.closed or act["act"] == until:
                return job
            seen[self._state(job, act)] += 1
            self._tell(job, act)
            self.kinds[act["act"]] += 1
            assert max(seen.values()) <= MOST_TIMES, self._said("the same act again and again")
            self._do(act)
        raise AssertionError(self._said("no end"))

    def _do(self, act: dict[str, Any]) -> None:
        self.clock.shift(timedelta(minutes=1))
        try:
            getattr(self, f"_{act['act']}")(act, timezone.now())
        except Exception as error:
            raise AssertionError(self._said(f"{type(error).__name__}: {error}")) from error

    def _state(self, job: Job, act: dict[str, Any]) -> str:
        """What tells a loop from progress: a trial or reading more is progress."""
        counted = act.get("kind") in ("trial_run", "soak_reading") or act["act"] == "wait"
        what = act.get("key") or act.get("to") or act["title"]
        place = job.head if counted else ""
        return f"{act['act']} {what} {job.stage} {job.power} {job.cover} {place} {self._left()}"

    def _left(self) -> str:
        return f"{len(self.untold)} {len(self.undone)} {len(self.failing)} {len(self.unneeded)}"

    def _tell(self, job: Job, act: dict[str, Any]) -> None:
        state = f"{job.stage}, {job.power}, cover {job.cover}"
        what = act.get("key") or act.get("to") or act["title"]
        self.story.append(f"{timezone.now():%d %H:%M} [{state}] {act['act']} {what}: {act['why']}")

    def _said(self, problem: str) -> str:
        return "\n".join([problem, *self.story[-60:]])

    # Deeds

    def _sign(self, act: dict[str, Any], at: datetime) -> None:
        key = act["key"]
        fails = key in self.failing
        readings = [
            (one["quantity"], self._read(one, fails=fails))
            for one in act["readings"]
            if "recorded" not in one and (one["required"] or fails)
        ]
        result = "fail" if fails and not readings else "pass"
        told = {"readings": readings, "answers": [self._answer(one) for one in act["answers"]]}
        commands.sign(self.number, key, result=result, by=self.by, at=at, **told)

    def _answer(self, asked: dict[str, Any]) -> tuple[str, Any]:
        """Say what is so; where nothing is known of it, the plainest answer."""
        plain = {"bool": False, "string": (asked.get("one_of") or [""])[-1], "list": ["none"]}
        return asked["fact"], self.facts.get(asked["fact"], plain.get(asked["kind"], 1))

    def _read(self, reading: dict[str, Any], *, fails: bool) -> float:
        bounds = Bounds(reading["min"], reading["max"])
        # No magnitude lies below a floor of nought.
        bounded = bounds.high is not None or bool(bounds.low)
        return reading_outside(bounds) if fails and bounded else reading_within(bounds)

    def _power(self, act: dict[str, Any], at: datetime) -> None:
        commands.set_power(self.number, act["to"], by=self.by, at=at)

    def _cover(self, act: dict[str, Any], at: datetime) -> None:
        commands.set_cover(self.number, act["to"], by=self.by, at=at)

    def _stage(self, act: dict[str, Any], at: datetime) -> None:
        commands.set_stage(self.number, act["to"], by=self.by, at=at)

    def _wait(self, act: dict[str, Any], at: datetime) -> None:
        self.clock.move_to(max(datetime.fromisoformat(act["until"]), at))

    def _open(self, act: dict[str, Any], at: datetime) -> None:
        raise AssertionError(f"a page is asked for: {act['page']}")

    def _none(self, act: dict[str, Any], at: datetime) -> None:
        raise AssertionError("nothing to do, and the job is open")

    def _record(self, act: dict[str, Any], at: datetime) -> None:
        chosen = self._choose(act.get("choices") or [act])
        data = dict(chosen["data"])
        for need in chosen["needs"]:
            data[need["name"]] = self._observe(need, data)
        commands.record(self.number, chosen["kind"], data, by=self.by, at=at)
        self._after(chosen["kind"], data)

    def _choose(self, choices: list[dict[str, Any]]) -> dict[str, Any]:
        """Take the tile that is true; the last one when none of the others is."""
        for choice in choices:
            data = choice["data"]
            if self.untold and data.get("finding") == self.untold[0]:
                return choice
            if self.undone and data.get("work") == self.undone[0] and "from_outside" not in data:
                return choice
            if self.unneeded and choice["kind"] == "part_needed":
                return choice
            if data.get("answer") == self.answer or data.get("name") in self.facts:
                return choice
        return choices[-1]

    def _observe(self, need: dict[str, Any], data: dict[str, Any]) -> Any:
        if need["name"] == "fault":
            return self.fault
        if need["name"] == "spec":
            return self.unneeded[0]
        if data.get("name") in self.facts:
            return self.facts[data["name"]]
        if need["kind"] == "string":
            return need.get("one_of", ["seen so"])[0]
        # A heat sink well below its limit.
        return (need["max"] or 80.0) * 0.6

    def _after(self, kind: str, data: dict[str, Any]) -> None:
        if kind == "finding_recorded" and data["finding"] in self.untold:
            self.untold.remove(data["finding"])
        elif kind == "part_needed":
            self.unneeded.pop(0)
        elif kind == "work_done":
            self.undone = [word for word in self.undone if word != data["work"]]
        if kind in ("work_done", "part_fitted") or data.get("round") in ("mend", "work"):
            self.failing.clear()
            self.fault = self.fault and bool(self.undone)


@dataclass(frozen=True)
class Bounds:
    """The ends of a reading."""

    low: float | None
    high: float | None
