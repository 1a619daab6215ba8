"""The line of stations and gates, with a job's place on it, and what is known of its plug."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.jobs.stages import LINE, Stage


@dataclass(frozen=True)
class Gate:
    """A gate on the line, with how many of its hold steps do not stand."""

    name: str
    unmet: int

    @property
    def open(self) -> bool:
        """Whether every hold step stands."""
        return not self.unmet


@dataclass(frozen=True)
class Station:
    """A stage on the line, with the gates before it, in plain values; `beside` is another stage."""

    stage: str
    gates: tuple[Gate, ...]
    here: bool
    passed: bool
    beside: str = ""


@dataclass(frozen=True)
class Bar:
    """What the bar at the top of a job's pages says, in plain values."""

    job: int
    head: int
    unit: str
    stage: str
    cover: str
    promised_on: date | None
    power: str
    power_shown: str
    energised: bool
    pull: bool
    plug_seen: bool


def bar(traveller: Traveller) -> Bar:
    """Return what the bar says of a job."""
    job, seen = traveller.job, plug_seen(traveller)
    return Bar(
        job=job.number,
        head=job.head,
        unit=str(job.unit),
        stage=job.stage,
        cover=job.cover,
        promised_on=job.promised_on,
        power=job.power,
        power_shown=power_shown(job, plug_seen=seen),
        energised=job.energised,
        pull=job.unplug_due,
        plug_seen=seen,
    )


def stations(traveller: Traveller) -> tuple[Station, ...]:
    """Return the line of stations with this job's place on it."""
    now = Stage(traveller.job.stage)
    on_line = Stage.OPENED if now == Stage.AWAITING_PARTS else now
    places = [stage for stage, _ in LINE]
    reached = places.index(on_line) if on_line in places else -1
    gates = {name: Gate(name, len(gate.unmet)) for name, gate in traveller.gates.items()}
    return tuple(
        Station(
            stage.value,
            tuple(gates[name] for name in names),
            stage == on_line,
            place < reached,
            now.value if now == Stage.AWAITING_PARTS and stage == Stage.OPENED else "",
        )
        for place, (stage, names) in enumerate(LINE)
    )


def next_gate(line: tuple[Station, ...]) -> Gate | None:
    """Return the first shut gate ahead of where the job is; None when nothing is in its way."""
    ahead = [station for station in line if not station.passed]
    return next((gate for station in ahead for gate in station.gates if not gate.open), None)


def power_shown(job: Job, *, plug_seen: bool) -> str:
    """Return isolated, limited or full; unplug when its plug is due, unknown when nobody saw it."""
    if job.unplug_due:
        return "unplug"
    return str(job.power) if plug_seen else "unknown"


def just_out(traveller: Traveller) -> bool:
    """Whether the last that was recorded is that mains is off: a slip would be seen now."""
    rows = traveller.record.rows
    said = bool(rows) and rows[-1].event_type == "power_removed"
    return said and not (traveller.job.energised or traveller.job.unplug_due)


def plug_seen(traveller: Traveller) -> bool:
    """Whether somebody recorded where the plug of this unit is; else it is to be treated as live."""
    if traveller.job.energised or traveller.record.of_type("power_removed"):
        return True
    step = traveller.checklist.by_key.get("unplugged-lead-in-sight")
    return step is not None and step.stands
