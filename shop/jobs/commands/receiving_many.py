"""Taking in many units that were never here: made in memory first, then stored by the hundred.

What takes the time, the checklist and the chain of each job, needs no lock; a write of others
comes in between.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from shop.jobs import ledger
from shop.jobs.commands import intakes
from shop.jobs.commands.intakes import Intake, SheetFacts
from shop.jobs.commands.transaction import KEPT_BY_EVERY_WRITE, JobTransaction
from shop.jobs.events.complaint_recorded import ComplaintRecorded
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.received import Received
from shop.jobs.identity import identity_of
from shop.jobs.models import Job, LedgerRow, StageVisit, Unit

_LIKE_A_SAVE = 1
_WORDS = frozenset(event.event_type for event in (Received, ComplaintRecorded, NoteAdded))


class Draft:
    """A job for a unit that was never here, whole but for its number; nothing of it is stored."""

    def __init__(
        self, intake: Intake, *, by: User, at: datetime, sheet_facts: SheetFacts | None
    ) -> None:
        self.intake = intake
        self.identity = identity_of(**intake.name)
        unit = Unit(**intake.name, identity=self.identity)
        self.job = Job(
            unit=unit,
            complaint=intake.taken["complaint"],
            reference=self.reference or None,
            received_at=at,
            stage_since=at,
            version=_LIKE_A_SAVE,
        )
        # Nobody else has a job of a unit that is not stored.
        self.job.twins = []
        self._tx = JobTransaction(self.job, [], by=by, at=at)
        self._tx.write(Received(**intake.name))
        intakes.write(self._tx, intake)
        intakes.write_sheet(self._tx, intake.sheet(sheet_facts), intake.facts)
        self._written = self._tx.written_rows

    @property
    def reference(self) -> str:
        """The number that somebody else gave it."""
        return self.intake.taken["reference"]

    def settle(self) -> None:
        """Derive its checklist, and what the job keeps of it."""
        self._tx.settle()

    def said(self) -> tuple[str, ...]:
        """Return what its ledger says but for the words of people."""
        return tuple(
            row.event_type + ("" if row.event_type in _WORDS else row.body) for row in self._written
        )

    def rows(self) -> list[LedgerRow]:
        """Return its ledger, given to its job, which has its number by now."""
        ledger.give_to(self.job.number, self._written)
        return self._written

    def stay(self) -> StageVisit:
        """Return its stay in the first stage."""
        job = self.job
        return StageVisit(job=job, stage=str(job.stage), kind=job.kind, entered_at=job.received_at)


class Summaries:
    """What jobs keep of their checklists, derived once for all whose ledgers say the same.

    The words of people count for nothing there: which unit it is called, the complaint, a note.
    Good for some hundred jobs of one moment; the rules and the settings may change after.
    """

    def __init__(self) -> None:
        self._derived: dict[tuple[str, ...], Job] = {}

    def settle(self, draft: Draft) -> None:
        """Bring a job up to its ledger; nothing is stored."""
        like = self._derived.setdefault(draft.said(), draft.job)
        if like is draft.job:
            draft.settle()
            return
        for column in KEPT_BY_EVERY_WRITE:
            setattr(draft.job, column, getattr(like, column))


def draft(
    *,
    by: User,
    at: datetime,
    facts: Mapping[str, Any] | None = None,
    sheet_facts: SheetFacts | None = None,
    **texts: str,
) -> Draft:
    """Return the job that would be opened, with the words of `receive`; BadInput and Refused as there.

    Looks at no other job: whether its unit or its reference is here already is asked elsewhere.
    """
    return Draft(
        Intake.of(facts, arrived_open=False, **texts), by=by, at=at, sheet_facts=sheet_facts
    )


@transaction.atomic
def receive_many(drafts: Sequence[Draft]) -> list[Draft]:
    """Open the settled jobs of units that were never here; return those that have their number now.

    Whether the person may was asked when the first of them was looked at. Left out are those whose unit is known, or whose reference is taken. IntegrityError, and
    nothing kept, when somebody else brought one of them in at the same moment.
    """
    fresh = _fresh(drafts)
    Unit.objects.bulk_create(draft.job.unit for draft in fresh)
    Job.objects.bulk_create(draft.job for draft in fresh)
    LedgerRow.objects.bulk_create(row for draft in fresh for row in draft.rows())
    StageVisit.objects.bulk_create(draft.stay() for draft in fresh)
    return fresh


def _fresh(drafts: Sequence[Draft]) -> list[Draft]:
    taken = set(jobs_by_reference(draft.reference for draft in drafts))
    identities = {draft.identity for draft in drafts if draft.identity}
    here = set(Unit.objects.filter(identity__in=identities).values_list("identity", flat=True))
    return [
        draft for draft in drafts if draft.reference not in taken and draft.identity not in here
    ]


def jobs_by_reference(references: Iterable[str]) -> dict[str, int]:
    """Return the numbers of the jobs that have any of these references."""
    wanted = {reference for reference in references if reference}
    found = Job.objects.filter(reference__in=wanted).values_list("reference", "number")
    return {str(reference): number for reference, number in found}


def open_jobs_by_identity(identities: Iterable[str]) -> dict[str, list[int]]:
    """Return the numbers of open jobs of the units that have any of these identities."""
    wanted = {identity for identity in identities if identity}
    found = Job.objects.filter(unit__identity__in=wanted, closed_at=None).order_by("number")
    numbers: dict[str, list[int]] = {}
    for identity, number in found.values_list("unit__identity", "number"):
        numbers.setdefault(identity, []).append(number)
    return numbers
