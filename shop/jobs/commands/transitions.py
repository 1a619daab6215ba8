"""Power, cover and stage."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import TypeVar

from django.contrib.auth.models import User
from django.db import InterfaceError, OperationalError
from django.utils.translation import gettext as _

from checklists.engine import exposures
from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.jobs import guards, head_signatures
from shop.jobs.commands import postponing
from shop.jobs.commands.transaction import JobTransaction, check, job_transaction
from shop.jobs.events.closing import Closing
from shop.jobs.events.cover_fitted import CoverFitted
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.events.permit_granted import PermitGranted
from shop.jobs.events.plug_doubted import PlugDoubted
from shop.jobs.events.power_applied import PowerApplied
from shop.jobs.events.power_removed import PowerRemoved
from shop.jobs.events.released import Released
from shop.jobs.events.stage_changed import StageChanged
from shop.jobs.events.withdrawn import Withdrawn
from shop.jobs.models import Job
from shop.jobs.stages import Cover, Power, Stage
from shop.lib import waiting
from shop.lib.refusals import bad

# That mains is off is recorded, or said not to be, within a second.
MOST_WAIT_MILLISECONDS = 600
Word = TypeVar("Word", bound=StrEnum)
_CLOSING: dict[Stage, type[Closing]] = {Stage.RELEASED: Released, Stage.WITHDRAWN: Withdrawn}


def set_power(number: int, to: str, *, by: User, at: datetime, seen: int | None = None) -> Job:
    """Apply limited or full power under a permit, or take mains off, and return the job.

    Mains off is open to everybody with a role and is never refused; said twice, it confirms
    that the plug is out after a permit fell. Refused lists every hold step that keeps it off.
    `seen` (newest ledger row when it was said) binds mains off to the mains of then: Refused
    when another has come on since.
    """
    wanted = _word("to", to, Power)
    roles.require(by, (PowerRemoved if wanted == Power.ISOLATED else PowerApplied).ability)
    if wanted == Power.ISOLATED:
        return _mains_off(number, seen, by=by, at=at)
    with job_transaction(number, by=by, at=at, mains_comes_on=True) as tx:
        if tx.job.power != wanted:
            _energise(tx, wanted)
        return tx.job


def _mains_off(number: int, seen: int | None, *, by: User, at: datetime) -> Job:
    """Record that mains is off; Postponed when the database does not take it now.

    Whoever pulls a plug is told at once when it cannot be recorded.
    """
    permit = postponing.live_permit(number)
    try:
        with (
            waiting.at_most(MOST_WAIT_MILLISECONDS),
            job_transaction(number, by=by, at=at) as tx,
        ):
            _isolate(tx, seen)
            return tx.job
    except (OperationalError, InterfaceError) as error:
        if permit is None:
            raise
        raise postponing.keep(postponing.Said(number, permit, seen, by, at), error) from error


def _isolate(tx: JobTransaction, seen: int | None) -> None:
    job = tx.job
    if seen is not None and (job.energised or job.unplug_due):
        check(guards.against_late_isolation(tx.record, seen))
    if job.energised:
        tx.take_mains_off(because="taken off by hand")
    elif job.unplug_due:
        tx.take_mains_off(because="plug confirmed out")
    if job.unplug_due:
        job.unplug_due = False


def doubt_plug(number: int, *, by: User, at: datetime) -> Job:
    """Record that a plug that was said to be out is in, or that nobody is sure, and return the job.

    The unit is live until mains off is said again, and all that mains on ends has ended. Refused
    when the record has it as live already.
    """
    roles.require(by, PlugDoubted.ability)
    with job_transaction(number, by=by, at=at) as tx:
        tx.write(PlugDoubted())
        return tx.job


def _energise(tx: JobTransaction, to: Power) -> None:
    gates = exposures.gates_of(to.value, tx.checklist)
    # The permit first: the database refuses power without one.
    tx.write(PermitGranted(power=to, gates=list(gates)))
    tx.write(PowerApplied(power=to))


def set_cover(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Take the cover off (gate open-up, mains off) or put it on, and return the job."""
    wanted = _word("to", to, Cover)
    event = CoverRemoved() if wanted == Cover.OFF else CoverFitted()
    roles.require(by, event.ability)
    with job_transaction(number, by=by, at=at) as tx:
        if tx.job.cover != wanted:
            tx.write(event)
        return tx.job


def set_stage(number: int, to: str, *, by: User, at: datetime) -> Job:
    """Move the job to a stage and return it; Refused says what is in the way."""
    wanted = _word("to", to, Stage)
    roles.require(by, StageChanged.ability)
    with job_transaction(number, by=by, at=at) as tx:
        if tx.job.stage != wanted:
            tx.write(StageChanged(came_from=str(tx.job.stage), to=wanted))
            if wanted in _CLOSING:
                head_signatures.sign(tx.write(_CLOSING[wanted]()), at=at)
        return tx.job


def _word(field: str, value: str, words: type[Word]) -> Word:
    try:
        return words(value)
    except ValueError:
        wanted = ", ".join(words)
        raise bad(
            field,
            _("{field} is {value}; it must be one of {wanted}.").format(
                field=field, value=quoted(value), wanted=wanted
            ),
        ) from None
