"""What the customer says is wrong; the newest stands on the job."""

from __future__ import annotations

from shop.jobs.events import fields
from shop.jobs.events.base import Event, Transaction


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
