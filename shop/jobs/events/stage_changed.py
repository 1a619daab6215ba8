"""The job went to another stage."""

from __future__ import annotations

from pydantic import Field

from checklists.engine import history
from shop.jobs import guards
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.ledger import AnyRow
from shop.jobs.stages import Stage
from shop.lib.refusals import Refusal


class StageChanged(Event):
    """The job went to another stage."""

    event_type = "stage_changed"
    ability = "move"
    people_write_it = False
    followers = frozenset({Follower.STAGES})

    came_from: str = Field(serialization_alias="from")
    to: Stage

    def check(self, tx: Transaction) -> list[Refusal]:
        """Whether the stage can follow, and what it asks for."""
        return guards.against_stage(tx.job, tx.record, tx.checklist, self.to)

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say where it went."""
        return cls.happened(row, stage=stored.text(row.data, "to"))

    def apply(self, tx: Transaction) -> None:
        """Move the job."""
        tx.job.clearance = self.to.value
        tx.job.move_to(self.to)
        tx.job.stage_since = tx.at
        tx.changed("stage", "stage_since")
