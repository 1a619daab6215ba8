"""Leave to have mains on the unit, through the limiter or without."""

from __future__ import annotations

from shop.jobs import guards
from shop.jobs.events.base import Event, Transaction
from shop.jobs.models import Permit
from shop.jobs.stages import Power
from shop.lib.refusals import Refusal


class PermitGranted(Event):
    """Leave to have mains on the unit: the hold steps of these gates stand."""

    event_type = "permit_granted"
    ability = "move"
    people_write_it = False

    power: Power
    gates: list[str]

    def check(self, tx: Transaction) -> list[Refusal]:
        """Every hold step of the gates of this power stands."""
        return guards.against_power(tx.job, tx.record, tx.checklist, self.power)

    def apply(self, tx: Transaction) -> None:
        """Store the permit; the database refuses power without one."""
        assert tx.by is not None  # only people energise
        if not tx.job.energised:
            stray = Permit.objects.filter(job=tx.job, ended_at=None)
            stray.update(ended_at=tx.at, ended_because="mains was off when another was granted")
        Permit.objects.create(
            job=tx.job,
            power=self.power.value,
            gates=" ".join(self.gates),
            granted_at=tx.at,
            granted_by=tx.by,
        )
