"""The cover is off."""

from __future__ import annotations

from checklists.engine.words import COVER_OFF
from shop.jobs import guards
from shop.jobs.events.base import Event, Transaction
from shop.jobs.stages import Cover
from shop.lib.refusals import Refusal


class CoverRemoved(Event):
    """The cover is off: hands can reach in."""

    event_type = "cover_removed"
    ability = "move"
    people_write_it = False
    by_hands = True
    exposure = COVER_OFF

    # It came in without its cover: nothing is asked of hands that never took it off.
    arrived_open: bool | None = None

    def check(self, tx: Transaction) -> list[Refusal]:
        """Mains off, and the gate open-up."""
        if self.arrived_open:
            return []
        return guards.against_cover_off(tx.job, tx.checklist)

    def apply(self, tx: Transaction) -> None:
        """Take it off on the job."""
        tx.job.clearance = Cover.OFF.value
        tx.job.take_cover_off()
        tx.changed("cover")
