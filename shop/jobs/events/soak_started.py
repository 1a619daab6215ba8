"""The clock of the soak runs."""

from __future__ import annotations

from shop.jobs.events import fields
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.forms import NoteForm
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record, SoakRun
from shop.jobs.stages import Power, Stage
from shop.lib.refusals import Refusal


class SoakStarted(Event):
    """The clock of the soak runs: in stage soaking, with power full."""

    event_type = "soak_started"
    form = NoteForm

    note: fields.Note = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """The stage, the power, and that none runs."""
        if tx.job.stage != Stage.SOAKING or tx.job.power != Power.FULL:
            sentence = "A soak starts in stage soaking with power full; move there first."
            return [Refusal("not-soaking", sentence)]
        if tx.record.soak == "running":
            return [Refusal("soak-running", "The soak is running already.")]
        return []

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Begin a new run."""
        record.soak_run = SoakRun(row.at)
