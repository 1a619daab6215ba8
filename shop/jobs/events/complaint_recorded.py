"""What the customer says is wrong; the newest stands on the job."""

from __future__ import annotations

from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record


class ComplaintRecorded(Event):
    """What the customer says is wrong."""

    event_type = "complaint_recorded"
    ability = "note"
    customers_words = True

    text: fields.Words

    def apply(self, tx: Transaction) -> None:
        """Put it on the job."""
        tx.job.complaint = self.text
        tx.changed("complaint")

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep each; the last that counts stands on the job."""
        record.complaints.append((row.sequence, stored.text(row.data, "text")))
