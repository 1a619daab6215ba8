"""The clock of the soak runs."""

from __future__ import annotations

from checklists.engine.words import UNATTENDED
from shop.jobs import guards
from shop.jobs.events import fields
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.forms import NoteForm
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record, SoakRun
from shop.lib.refusals import Refusal


class SoakStarted(Event):
    """The clock of the soak runs: in stage soaking, with power full."""

    event_type = "soak_started"
    form = NoteForm
    exposure = UNATTENDED

    note: fields.Note = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """The stage, the power, the cover, what a soak asks, and that none runs."""
        return guards.against_soak_start(tx.job, tx.record, tx.checklist)

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Begin a new run."""
        record.soak_run = SoakRun(row.at)
