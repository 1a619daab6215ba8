"""Power, cover and stage."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from enum import StrEnum
from typing import Any, TypeVar

from django.contrib.auth.models import User

from checklists.engine.vocabulary import shown
from shop.jobs import guards, trials
from shop.jobs.models import Job, Permit
from shop.jobs.moves import keeping
from shop.jobs.moves.visit import Visit, check, visit
from shop.jobs.stages import CLOSED, Cover, Power, Stage
from shop.lib import people
from shop.lib.refusals import bad

Word = TypeVar("Word", bound=StrEnum)


def set_power(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Apply limited or full power under a permit, or take mains off, and return the job.

    Mains off is open to everybody with a role and is never refused; said twice, it confirms
    that the plug is out after a permit fell. Refused lists every hold step that keeps it off.
    """
    wanted = _word("to", to, Power)
    people.require(by, "isolate" if wanted == Power.ISOLATED else "move")
    with visit(number, by=by, at=at) as here:
        if wanted == Power.ISOLATED:
            _isolate(here)
        elif here.job.power != wanted:
            _energise(here, wanted)
        return here.job


def _isolate(here: Visit) -> None:
    job = here.job
    if job.energised:
        here.take_mains_off(because="taken off by hand")
    elif job.unplug_due:
        here.write("power_removed", {"from": "isolated", "because": "plug confirmed out"})
    if job.unplug_due:
        job.unplug_due = False


def _energise(here: Visit, to: Power) -> None:
    job = here.job
    check(guards.against_power(job, here.record, here.checklist, to))
    gates = guards.gates_for(to, touched=here.record.history.touched)
    # The permit first: the database refuses power without one.
    assert here.by is not None  # only people energise
    Permit.objects.update_or_create(
        job=job,
        ended_at=None,
        defaults={"power": to.value, "gates": " ".join(gates)},
        create_defaults={
            "power": to.value,
            "gates": " ".join(gates),
            "granted_at": here.at,
            "granted_by": here.by,
        },
    )
    here.write("permit_granted", {"power": to.value, "gates": list(gates)})
    job.clearance = to.value
    job.apply_full() if to == Power.FULL else job.apply_limited()
    here.write("power_applied", {"power": to.value})
    here.changed("power")


def set_cover(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Take the cover off (gate open-up, mains off) or put it on, and return the job."""
    wanted = _word("to", to, Cover)
    people.require(by, "move")
    with visit(number, by=by, at=at) as here:
        job = here.job
        if job.cover == wanted:
            return job
        if wanted == Cover.OFF:
            check(guards.against_cover_off(job, here.checklist))
            job.clearance = wanted.value
            job.take_cover_off()
        else:
            job.put_cover_on()
        here.write("cover_removed" if wanted == Cover.OFF else "cover_fitted", {})
        here.changed("cover")
        return job


_TRANSITIONS: dict[Stage, Callable[[Job], None]] = {
    Stage.REPRODUCING: Job.start_reproducing,
    Stage.OPENED: Job.put_on_bench,
    Stage.AWAITING_PARTS: Job.await_parts,
    Stage.REASSEMBLED: Job.reassemble,
    Stage.SOAKING: Job.start_soaking,
    Stage.RELEASED: Job.release,
    Stage.WITHDRAWN: Job.withdraw,
}


def set_stage(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Move the job to a stage and return it; Refused says what is in the way."""
    wanted = _word("to", to, Stage)
    people.require(by, "move")
    with visit(number, by=by, at=at) as here:
        job, came_from = here.job, here.job.stage
        if came_from == wanted:
            return job
        check(guards.against_stage(job, here.record, here.checklist, wanted))
        job.clearance = wanted.value
        _TRANSITIONS[wanted](job)
        job.stage_since = here.at
        here.changed("stage", "stage_since")
        here.write("stage_changed", {"from": str(came_from), "to": wanted.value})
        if wanted in CLOSED:
            job.closed_at = here.at
            here.changed("closed_at")
            keeping.let_go(here)
            here.write(wanted.value, {"pack": here.checklist.pack.digest} | _proof(here))
        return job


def _proof(here: Visit) -> dict[str, Any]:
    """Return what the trials before and after the work show, for the record that goes out."""
    found = trials.trials_of(here.record)
    if found.proof is None:
        return {}
    return {"proof": found.proof.says, "proved": found.proof.verdict, "clean_trials": found.clean}


def _word(field: str, value: str, words: type[Word]) -> Word:
    try:
        return words(value)
    except ValueError:
        wanted = ", ".join(words)
        raise bad(field, f"{field} is {shown(value)}; it must be one of {wanted}.") from None
