"""The customer was told of something; the address stays out of the ledger."""

from __future__ import annotations

from shop.jobs.events.base import Event


class CustomerTold(Event):
    """The customer was told: of what, and by which way."""

    event_type = "owner_told"
    ability = "note"
    people_write_it = False
    on_closed_job = True

    about: str
    way: str
