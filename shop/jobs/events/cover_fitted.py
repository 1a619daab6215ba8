"""The cover is on; also on a unit that was handed back open."""

from __future__ import annotations

from shop.jobs import guards
from shop.jobs.events.base import Event, Transaction
from shop.lib.refusals import Refusal


class CoverFitted(Event):
    """The cover is on."""

    event_type = "cover_fitted"
    ability = "move"
    people_write_it = False
    on_closed_job = True

    def check(self, tx: Transaction) -> list[Refusal]:
        """Mains off: a lid slides past bare live terminals."""
        return guards.against_cover_on(tx.job)

    def apply(self, tx: Transaction) -> None:
        """Put it on on the job."""
        tx.job.put_cover_on()
        tx.changed("cover")
