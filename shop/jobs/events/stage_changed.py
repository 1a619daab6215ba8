"""The job went to another stage."""

from __future__ import annotations

from collections.abc import Callable

from pydantic import Field

from shop.jobs import guards
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.models import Job
from shop.jobs.stages import Stage
from shop.lib.refusals import Refusal

_TRANSITIONS: dict[Stage, Callable[[Job], None]] = {
    Stage.REPRODUCING: Job.start_reproducing,
    Stage.OPENED: Job.put_on_bench,
    Stage.AWAITING_PARTS: Job.await_parts,
    Stage.REASSEMBLED: Job.reassemble,
    Stage.SOAKING: Job.start_soaking,
    Stage.RELEASED: Job.release,
    Stage.WITHDRAWN: Job.withdraw,
}


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

    def apply(self, tx: Transaction) -> None:
        """Move the job."""
        tx.job.clearance = self.to.value
        _TRANSITIONS[self.to](tx.job)
        tx.job.stage_since = tx.at
        tx.changed("stage", "stage_since")
