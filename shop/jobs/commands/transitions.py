"""Power, cover and stage."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from enum import StrEnum
from typing import Any, TypeVar

from django.contrib.auth.models import User

from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.jobs import guards, trials
from shop.jobs.commands import stock_sync
from shop.jobs.commands.transaction import JobTransaction, check, job_transaction
from shop.jobs.models import Job, Permit
from shop.jobs.stages import CLOSED, Cover, Power, Stage
from shop.lib.refusals import bad

Word = TypeVar("Word", bound=StrEnum)


def set_power(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Apply limited or full power under a permit, or take mains off, and return the job.

    Mains off is open to everybody with a role and is never refused; said twice, it confirms
    that the plug is out after a permit fell. Refused lists every hold step that keeps it off.
    """
    wanted = _word("to", to, Power)
    roles.require(by, "isolate" if wanted == Power.ISOLATED else "move")
    with job_transaction(number, by=by, at=at) as tx:
        if wanted == Power.ISOLATED:
            _isolate(tx)
        elif tx.job.power != wanted:
            _energise(tx, wanted)
        return tx.job


def _isolate(tx: JobTransaction) -> None:
    job = tx.job
    if job.energised:
        tx.take_mains_off(because="taken off by hand")
    elif job.unplug_due:
        tx.write("power_removed", {"from": "isolated", "because": "plug confirmed out"})
    if job.unplug_due:
        job.unplug_due = False


def _energise(tx: JobTransaction, to: Power) -> None:
    job = tx.job
    check(guards.against_power(job, tx.record, tx.checklist, to))
    gates = guards.gates_for(to, touched=tx.record.history.touched)
    # The permit first: the database refuses power without one.
    assert tx.by is not None  # only people energise
    Permit.objects.update_or_create(
        job=job,
        ended_at=None,
        defaults={"power": to.value, "gates": " ".join(gates)},
        create_defaults={
            "power": to.value,
            "gates": " ".join(gates),
            "granted_at": tx.at,
            "granted_by": tx.by,
        },
    )
    tx.write("permit_granted", {"power": to.value, "gates": list(gates)})
    job.clearance = to.value
    job.apply_full() if to == Power.FULL else job.apply_limited()
    tx.write("power_applied", {"power": to.value})
    tx.changed("power")


def set_cover(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Take the cover off (gate open-up, mains off) or put it on, and return the job."""
    wanted = _word("to", to, Cover)
    roles.require(by, "move")
    with job_transaction(number, by=by, at=at) as tx:
        job = tx.job
        if job.cover == wanted:
            return job
        if wanted == Cover.OFF:
            check(guards.against_cover_off(job, tx.checklist))
            job.clearance = wanted.value
            job.take_cover_off()
        else:
            job.put_cover_on()
        tx.write("cover_removed" if wanted == Cover.OFF else "cover_fitted", {})
        tx.changed("cover")
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
    roles.require(by, "move")
    with job_transaction(number, by=by, at=at) as tx:
        job, came_from = tx.job, tx.job.stage
        if came_from == wanted:
            return job
        check(guards.against_stage(job, tx.record, tx.checklist, wanted))
        job.clearance = wanted.value
        _TRANSITIONS[wanted](job)
        job.stage_since = tx.at
        tx.changed("stage", "stage_since")
        tx.write("stage_changed", {"from": str(came_from), "to": wanted.value})
        if wanted in CLOSED:
            job.closed_at = tx.at
            tx.changed("closed_at")
            stock_sync.let_go(tx)
            tx.write(wanted.value, {"pack": tx.checklist.pack.digest} | _proof(tx))
        return job


def _proof(tx: JobTransaction) -> dict[str, Any]:
    """Return what the trials before and after the work show, for the record that goes out."""
    found = trials.trials_of(tx.record)
    if found.proof is None:
        return {}
    return {"proof": found.proof.says, "proved": found.proof.verdict, "clean_trials": found.clean}


def _word(field: str, value: str, words: type[Word]) -> Word:
    try:
        return words(value)
    except ValueError:
        wanted = ", ".join(words)
        raise bad(field, f"{field} is {quoted(value)}; it must be one of {wanted}.") from None
