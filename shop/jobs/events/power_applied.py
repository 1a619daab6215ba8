"""Mains is on the unit."""

from __future__ import annotations

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.ledger import AnyRow
from shop.jobs.stages import Power


class PowerApplied(Event):
    """Mains is on the unit, through the limiter or without; the permit is written before it."""

    event_type = "power_applied"
    ability = "move"
    people_write_it = False

    power: Power

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say which power; a row that does not tell it ends what either ends."""
        return cls.happened(row, power=stored.needed_text(row.data, "power"))

    def apply(self, tx: Transaction) -> None:
        """Put mains on on the job."""
        tx.job.clearance = self.power.value
        tx.job.apply_full() if self.power == Power.FULL else tx.job.apply_limited()
        tx.changed("power")
