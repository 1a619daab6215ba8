"""Taking back what a person has just signed: a tap too many, seen within seconds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from checklists.engine.history import FACT, SIGNED, WAIVED
from shop.accounts import roles
from shop.jobs import events
from shop.jobs.commands.transaction import JobTransaction, check, job_transaction
from shop.jobs.events.customer_told import CustomerTold
from shop.jobs.events.entry_withdrawn import EntryWithdrawn
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.photo_added import PhotoAdded
from shop.jobs.events.power_removed import PowerRemoved
from shop.jobs.events.question_asked import QuestionAsked
from shop.jobs.events.step_signed import StepSigned
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.lib.refusals import Refusal, bad

UNDO_WITHIN = timedelta(seconds=10)
REASON = "undone at once"
# Nothing that a sign-off made possible is among these; after any other row a reason is asked for.
_RESTS_ON_NOTHING = frozenset(
    event.event_type for event in (PowerRemoved, NoteAdded, PhotoAdded, CustomerTold, QuestionAsked)
)


def undo(number: int, sequence: int, *, by: User, at: datetime) -> Job:
    """Withdraw what was just signed with one tap, with the answers told by it, and return the job.

    A card of several steps is one tap: `sequence` is the row of its last step.

    Refused for another person, after ten seconds, and once anything that may rest on it followed:
    what is withdrawn later needs a reason. Mains and cover are never undone.
    """
    roles.require(by, StepSigned.ability)
    with job_transaction(number, by=by, at=at) as tx:
        row = _signature(tx.record, sequence)
        check(_against_undoing(tx.record, row, by, at))
        for told in [row, *_told_with(tx.record.rows, row)]:
            _withdraw(tx, told)
        return tx.job


def undoable(record: Record, *, by: User, at: datetime) -> AnyRow | None:
    """Return the sign-off that this person can still undo; None when there is none."""
    signed = [row for row in record.rows if row.event_type in (SIGNED, WAIVED)]
    if not signed or record.job.closed or record.job.unplug_due:
        return None
    return None if _against_undoing(record, signed[-1], by, at) else signed[-1]


def of_one_tap(rows: Sequence[AnyRow], signed: AnyRow) -> list[AnyRow]:
    """Return the signatures that one tap made, oldest first: this one and those of its card."""
    return [one for one in [*_told_with(rows, signed)[::-1], signed] if one.event_type != FACT]


def _withdraw(tx: JobTransaction, row: AnyRow) -> None:
    if row.sequence not in tx.record.withdrawn:
        tx.write(EntryWithdrawn(row=row.sequence, reason=REASON))


def _signature(record: Record, sequence: int) -> AnyRow:
    for row in record.rows:
        if row.sequence == sequence and row.event_type in (SIGNED, WAIVED):
            return row
    raise bad(
        "row", _("row is {sequence}; this job has no signature there.").format(sequence=sequence)
    )


def _against_undoing(record: Record, row: AnyRow, by: User, at: datetime) -> list[Refusal]:
    if row.sequence in record.withdrawn:
        return [Refusal("not-withdrawable", _("It is undone already."))]
    reasons = []
    if row.by_name != by.get_username():
        reasons.append(
            Refusal(
                "not-yours",
                _("{name} signed it, and alone can undo it.").format(name=row.by_name),
            )
        )
    # A clock that was set back must not keep the way open.
    if not timedelta() <= at - row.at <= UNDO_WITHIN:
        reasons.append(Refusal("undo-late", _("The ten seconds are over.")))
    after = [one for one in record.rows if one.sequence > row.sequence]
    rests = [one for one in after if one.event_type not in _RESTS_ON_NOTHING]
    if rests:
        reasons.append(
            Refusal("undo-late", _("Something followed it: {what}.").format(what=_named(rests[0])))
        )
    return reasons


def _named(row: AnyRow) -> str:
    said = "; ".join(events.words(row))
    name = row.event_type.replace("_", " ")
    return f"{name} ({said})" if said else name


def _told_with(rows: Sequence[AnyRow], signed: AnyRow) -> list[AnyRow]:
    """Return the rest of the same tap: answers and steps right before it, of one moment with it."""
    told: list[AnyRow] = []
    for row in reversed([one for one in rows if one.sequence < signed.sequence]):
        of_the_tap = row.event_type in (FACT, SIGNED) and row.at == signed.at
        if not of_the_tap or row.by_name != signed.by_name:
            break
        told.append(row)
    return told
