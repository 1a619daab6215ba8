"""Mains is off the unit: taken off by hand, or because its permit no longer stands."""

from __future__ import annotations

from pydantic import Field

from shop.jobs.events.base import Event, Transaction
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Permit
from shop.jobs.record import Record


class PowerRemoved(Event):
    """Mains is off the unit. Nothing is ever in the way of it."""

    event_type = "power_removed"
    ability = "isolate"
    people_write_it = False
    on_closed_job = True

    came_from: str = Field(serialization_alias="from")
    because: str

    def apply(self, tx: Transaction) -> None:
        """Isolate the job and end the permit, in the order the database insists on."""
        if not tx.job.energised:
            return  # the plug is confirmed out
        tx.job.isolate()
        # The row must be isolated before its permit may end, so this save comes first.
        tx.job.save(update_fields=["power", "version"])
        live = Permit.objects.filter(job=tx.job, ended_at=None)
        live.update(ended_at=tx.at, ended_because=self.because[:400])

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Interrupt a soak that runs, and stop its clock in any case."""
        run = record.soak_run
        if run is not None:
            run.end("interrupted" if run.state == "running" else run.state, row.at)
