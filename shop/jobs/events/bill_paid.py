"""Money came for a bill or went back; the ledger of the job says so, and nothing for safety follows."""

from __future__ import annotations

from shop.jobs.events.base import Event


class BillPaid(Event):
    """Money came, or went back where the amount is below zero. A deposit has no bill yet."""

    event_type = "bill_paid"
    ability = "bill"
    people_write_it = False
    on_closed_job = True

    bill: str = ""
    amount: str
    currency: str
    way: str
