"""A technician who does what the next act says, reads what is true, and says what is so.

He knows of a fault what he has seen or measured, and nothing of limits. What a unit says to a
meter stands in the pack's folder, `*.bench.toml`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User

from checklists.engine import exposures
from checklists.engine.bench_units import BenchUnits, Mend, Unit
from shop.jobs import commands, queries
from shop.jobs.models import Job
from shop.jobs.next_act import next_act
from shop.lib.refusals import Refused
from tests.units.fault import Fault

A_MOVE = timedelta(minutes=2)
MOST_ACTS = 180
_NAMED = re.compile(r"fact \(?(unit\.\w+)")
# What a shop sees before anybody has opened or measured anything.
AT_THE_COUNTER = (
    "unit.kind",
    "unit.protective_class",
    "unit.mains_volts",
    "unit.captive_lead",
    "complaint.symptoms",
    "complaint.intermittent",
    "complaint.when",
)


class Stuck(AssertionError):
    """The way does not go on: refused, in a circle, or asked for what no meter shows."""


@dataclass
class Stop:
    """The first step that failed, and what stood against the exposure then."""

    step: str
    against: list[str]
    words: str


@dataclass
class Technician:
    """One pair of honest hands with one unit, from intake to release."""

    unit: Unit
    units: BenchUnits
    by: User
    clock: datetime
    move_clock: Any
    tells_all: bool = True
    number: int = 0
    released: bool = False
    acts: list[str] = field(default_factory=list)
    stops: list[Stop] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.fault = Fault(self.unit)
        self.told: set[str] = set()
        self.done: list[Mend] = []
        self.clean_trials = 0

    # The way

    def walk(self) -> None:
        """Go from intake to release; Stuck when the shop does not lead there."""
        self.move_clock(self.clock)
        self._receive()
        while not self.job.closed:
            if len(self.acts) >= MOST_ACTS:
                raise self._stuck(f"no release after {MOST_ACTS} acts.")
            self._one(next_act(self.job, self.clock).as_dict())
        self.released = self.job.stage == "released"

    @property
    def job(self) -> Job:
        return Job.objects.get(pk=self.number)

    @property
    def left(self) -> list[str]:
        """What is wrong still, whether anybody knows of it or not."""
        mends = [*self.fault.its_own, *(self.fault.sick.mend if self.fault.sick else ())]
        return [mend.work for mend in mends if mend.work and mend not in self.done]

    @property
    def story(self) -> str:
        """The last acts, one a line."""
        return "\n".join(self.acts[-25:])

    def _stuck(self, why: str) -> Stuck:
        return Stuck(f"{self.unit.name}: {why}\n{self.story}")

    def _receive(self) -> None:
        facts = self.unit.facts
        known = facts if self.tells_all else {n: facts[n] for n in AT_THE_COUNTER if n in facts}
        of = self.unit.healthy
        self.number = commands.receive(
            by=self.by,
            at=self.clock,
            make=of.maker,
            model=of.model,
            serial=f"{len(self.unit.name)}-7",
            complaint=self.fault.complaint,
            facts={n: v for n, v in known.items() if n != "intake.damage"},
        ).number
        self._look()

    def _one(self, act: dict[str, Any]) -> None:
        self.clock += A_MOVE
        self.move_clock(self.clock)
        self.acts.append(f"{act['act']:6} {act['title']}")
        try:
            getattr(self, f"_{act['act']}")(act)
        except Refused as refused:
            raise self._stuck(f"{act} refused: {refused}") from refused
        self._look()
        self.fault.meets(self.job, self.story)

    def _power(self, act: dict[str, Any]) -> None:
        commands.set_power(self.number, act["to"], by=self.by, at=self.clock)
        self.fault.after_power(act["to"])

    def _cover(self, act: dict[str, Any]) -> None:
        commands.set_cover(self.number, act["to"], by=self.by, at=self.clock)
        self.fault.after_cover(act["to"])

    def _stage(self, act: dict[str, Any]) -> None:
        commands.set_stage(self.number, act["to"], by=self.by, at=self.clock)

    def _wait(self, act: dict[str, Any]) -> None:
        self.clock = max(self.clock, datetime.fromisoformat(act["until"]))
        self.move_clock(self.clock)

    def _open(self, act: dict[str, Any]) -> None:
        raise self._stuck(f"the shop knows no act: {act['why']}")

    _none = _open

    # Signing

    def _sign(self, act: dict[str, Any]) -> None:
        key = act["key"]
        listed = queries.Traveller.of(self.job).checklist.by_key[key]
        if self._tells_what_it_is(act, listed):
            return
        self.fault.hands_in_for(listed, self.job)
        result = "fail" if self.fault.shows_at(key) else "pass"
        step = self._write_signature(act, result)
        self.acts[-1] += f" [{key}: {step.state}]"
        if step.state == "failed":
            self._stopped_by(key)

    def _write_signature(self, act: dict[str, Any], result: str) -> Any:
        readings = [r for one in act["readings"] if (r := self._read(one, act["key"])) is not None]
        answers = [(a["fact"], self._fact(a["fact"])) for a in act.get("answers") or ()]
        return commands.sign(
            self.number,
            act["key"],
            result=result,
            readings=readings,
            note="as seen" if result == "fail" else "",
            by=self.by,
            at=self.clock,
            answers=answers,
        )

    def _tells_what_it_is(self, act: dict[str, Any], listed: Any) -> bool:
        """Say what the unit is made of when a step asks for what it has not: that takes it away.

        A limit whose source names a fact is told that fact too: the page says so.
        """
        lacking = [r for r in act["readings"] if r.get("required", True) and self._lacks(r)]
        named = {name for r in listed.readings for name in _NAMED.findall(r.source)}
        wanted = (listed.missing if lacking else set()) | named
        recorded = queries.Traveller.of(self.job).record.facts
        unknown = sorted(n for n in wanted if n in self.unit.facts and n not in recorded)
        for name in unknown:
            data = {"name": name, "value": self.unit.facts[name]}
            commands.record(self.number, "fact_recorded", data, by=self.by, at=self.clock)
        if unknown:
            self.acts[-1] += f" [it is told: {', '.join(unknown)}]"
        return bool(unknown)

    def _lacks(self, reading: dict[str, Any]) -> bool:
        of_record = "recorded" in reading
        return not of_record and self.units.shown(reading["quantity"], self.fault.true) is None

    def _read(self, reading: dict[str, Any], key: str) -> tuple[str, float] | None:
        """Return what the meter shows; None for what the record knows and what may be left out."""
        quantity = reading["quantity"]
        if "recorded" in reading:
            return None
        if quantity == "clean_trials":
            return quantity, float(self.clean_trials)
        value = self.units.shown(quantity, self.fault.true)
        if value is not None:
            return quantity, value
        if reading.get("required", True):
            raise self._stuck(f"{key} asks for {quantity}, which it does not have.")
        return None

    def _fact(self, name: str) -> Any:
        if name not in self.unit.facts:
            raise self._stuck(f"nothing is known of {name}.")
        return self.unit.facts[name]

    def _stopped_by(self, key: str = "") -> None:
        """Keep what stands against the exposure now, then take the fault for known.

        Without `key` it is not a step that failed but something seen: then what it brought up
        stands in the way.
        """
        sick = self.fault.sick
        if sick is None:
            raise self._stuck(f"{key or 'a trial or the soak'} failed, and nothing is wrong.")
        checklist = queries.Traveller.of(self.job).checklist
        found = exposures.against(sick.before, checklist)
        keys = [h.step.key for h in found]
        by = key or next((k for k in keys if k in sick.stopped_by), "")
        self.stops.append(Stop(by, keys, _words_of(checklist.by_key.get(by), found)))
        self.fault.put_right(key)
        self.fault.known = True

    # Recording

    def _record(self, act: dict[str, Any]) -> None:
        choices = act.get("choices") or [act]
        chosen = next((c for c in choices if self._is_true(c)), choices[-1])
        data = {**chosen["data"], **self._needs(chosen)}
        if mend := self._mend_of(chosen):
            data["section"] = mend.section
            data |= {"note": mend.note} if mend.note else {}
        self._write(chosen["kind"], data)

    def _write(self, kind: str, data: dict[str, Any]) -> None:
        self.fault.hands_in_by(kind, data, self.job)
        commands.record(self.number, kind, data, by=self.by, at=self.clock)
        if kind == "trial_run":
            self.clean_trials = 0 if data["fault"] else self.clean_trials + 1
        self.acts[-1] += f" [{kind} {' '.join(str(v) for v in data.values())}]"
        if kind == "work_done":
            self.done += [m for m in self._todo() if m.work == data["work"]][:1]
            self.fault.after_work(self.done)
            self.clean_trials = 0
        elif self._came_back(kind, data):
            self._stopped_by()

    def _came_back(self, kind: str, data: dict[str, Any]) -> bool:
        """Tell whether a trial or the soak shows that what was done has not cured it."""
        if kind == "soak_ended":
            return data["result"] == "fail"
        left = [mend for mend in self.fault.its_own if mend not in self.done]
        return bool(kind == "trial_run" and data["fault"] and self.fault.its_own and not left)

    def _is_true(self, choice: dict[str, Any]) -> bool:
        """Tell whether this is what happened: the last choice is, when none else is."""
        if choice["kind"] == "soak_ended":
            return choice["data"]["result"] == ("fail" if self.fault.shows_in_soak else "pass")
        if choice["kind"] == "fact_recorded":
            return choice["data"]["name"] in self.unit.facts
        return self._mend_of(choice) is not None

    def _mend_of(self, choice: dict[str, Any]) -> Mend | None:
        if choice["kind"] == "work_done":
            word = choice["data"]["work"]
            return next((m for m in self._todo() if m.work == word), None)
        return None

    def _needs(self, choice: dict[str, Any]) -> dict[str, Any]:
        return {n["name"]: self._observed(n["name"], choice) for n in choice.get("needs") or ()}

    def _observed(self, name: str, choice: dict[str, Any]) -> Any:
        if name == "fault":
            return self._shows_its_fault()
        if name == "value" and choice["kind"] == "fact_recorded":
            return self._fact(choice["data"]["name"])
        if name == "value":
            return self.fault.true[choice["data"]["quantity"]]
        mend = self._mend_of(choice)
        if name == "note" and mend is not None:
            return mend.note
        raise self._stuck(f"nobody can observe {name} for {choice}.")

    def _shows_its_fault(self) -> bool:
        return bool([m for m in self.fault.its_own if m not in self.done]) or self.fault.in_trials

    def _todo(self) -> list[Mend]:
        """Return what is known to be wrong and is not mended yet."""
        return [m for m in self.fault.to_mend if m not in self.done and m.work]

    # Looking

    def _look(self) -> None:
        """Write down what is to be seen now, before anything else."""
        self.fault.look(self.job)
        told = len(self.told)
        for mend in self.fault.seen_now(self.job):
            if mend.finding and f"{mend.finding} {mend.section}" not in self.told:
                self.told.add(f"{mend.finding} {mend.section}")
                data = {"finding": mend.finding, "section": mend.section, "note": mend.note}
                commands.record(self.number, "finding_recorded", data, by=self.by, at=self.clock)
                self.acts.append(f"found  {mend.finding}, {mend.section}")
        if self.fault.known and len(self.told) > told and not self.stops:
            self._stopped_by()


def _words_of(step: Any, found: list[exposures.Hindrance]) -> str:
    """Return what people are told then: the step that failed, and what stands in the way."""
    told = [step.step.title, step.step.instruction] if step else []
    for hindrance in found:
        told += [
            hindrance.step.step.title,
            hindrance.hazard.hazard.because if hindrance.hazard else "",
        ]
    return " ".join(map(str, told)).lower()
