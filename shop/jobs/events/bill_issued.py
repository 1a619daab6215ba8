"""A bill was issued; whom it is for stays out of the ledger."""

from __future__ import annotations

from shop.jobs.events.base import Event


class BillIssued(Event):
    """A bill was issued: its number, and what it comes to with tax."""

    event_type = "bill_issued"
    ability = "bill"
    people_write_it = False
    on_closed_job = True

    bill: str
    total: str
    currency: str
