"""The price above which the customer wants to be rung."""

from __future__ import annotations

from decimal import Decimal

from shop.jobs.events import fields
from shop.jobs.events.base import Event
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record


class LimitAgreed(Event):
    """The price above which the customer wants to be rung, tax included."""

    event_type = "limit_agreed"
    ability = "note"

    amount: fields.Amount
    note: fields.Note = ""

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep the last one; one that cannot be read means that every price is asked."""
        record.agreement.ring_above = "0"
        amount = str(row.data["amount"])
        if Decimal(amount).is_finite():
            record.agreement.ring_above = amount
