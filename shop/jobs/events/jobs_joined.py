"""Two open jobs of one unit became one."""

from __future__ import annotations

from pydantic import Field

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.events.closing import close
from shop.jobs.ledger import AnyRow
from shop.jobs.stages import Stage


class JobsJoined(Event):
    """One job is closed into another of the same unit; both hold the row.

    The unit leaves with neither, so nothing is asked that a hand-back asks.
    """

    event_type = "jobs_joined"
    ability = "move"
    people_write_it = False
    followers = frozenset({Follower.STAGES, Follower.PARTS})

    # In the job that is closed: where it went. In the other: what came, and what that left up.
    into: int | None = None
    came_from: int | None = Field(default=None, serialization_alias="from")
    carried: list[str] | None = None

    def apply(self, tx: Transaction) -> None:
        """Close the job that goes into the other."""
        if self.into is None:
            return
        tx.job.clearance = Stage.WITHDRAWN.value
        tx.job.move_to(Stage.WITHDRAWN)
        tx.job.stage_since, tx.job.joined_into_id = tx.at, self.into
        # The plug is asked for in the job that goes on.
        tx.job.unplug_due = False
        tx.changed("stage", "stage_since", "joined_into")
        close(tx)

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say what the other job left up."""
        return cls.happened(row, carried=frozenset(stored.texts(row.data, "carried")))

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say which job went into which."""
        into = stored.whole(data, "into")
        return [f"joined into job {into}" if into else f"job {data['from']} was joined into this"]
