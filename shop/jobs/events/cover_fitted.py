"""The cover is on; also on a unit that was handed back open."""

from __future__ import annotations

from shop.jobs.events.base import Event, Transaction


class CoverFitted(Event):
    """The cover is on."""

    event_type = "cover_fitted"
    ability = "move"
    people_write_it = False
    on_closed_job = True

    def apply(self, tx: Transaction) -> None:
        """Put it on on the job."""
        tx.job.put_cover_on()
        tx.changed("cover")
