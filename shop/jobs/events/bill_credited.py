"""A bill was taken back by a credit note, whole or in part."""

from __future__ import annotations

from shop.jobs.events.base import Event


class BillCredited(Event):
    """A credit note was issued: its number, the bill that it is about, and how much it takes back."""

    event_type = "bill_credited"
    ability = "bill"
    people_write_it = False
    on_closed_job = True

    credit: str
    bill: str
    total: str
    currency: str
