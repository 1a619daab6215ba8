"""Mains is on the unit."""

from __future__ import annotations

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Permit
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
        """Put mains on on the job, and end the permit for the power that it had."""
        had = tx.job.power
        tx.job.clearance = self.power.value
        tx.job.apply_full() if self.power == Power.FULL else tx.job.apply_limited()
        tx.changed("power")
        if had != Power.ISOLATED:
            # The row must have the new power before the permit of the old one may end.
            tx.job.save(update_fields=["power", "version"])
            former = Permit.objects.filter(job=tx.job, ended_at=None).exclude(power=self.power)
            former.update(
                ended_at=tx.at, ended_because=f"{self.power} mains has a permit of its own"
            )
