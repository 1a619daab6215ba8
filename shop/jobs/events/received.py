"""A unit came in, and a job was opened for it."""

from __future__ import annotations

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Follower
from shop.jobs.ledger import AnyRow


class Received(Event):
    """A unit came in."""

    event_type = "received"
    ability = "receive"
    people_write_it = False
    followers = frozenset({Follower.STAGES})

    make: str
    model: str
    serial: str
    # The job that the unit comes back from.
    returned_from: int | None = None
    # Hazards that its earlier jobs left up; absent when it was not here before.
    carried: list[str] | None = None

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say what was left up by earlier jobs."""
        return cls.happened(row, carried=frozenset(stored.texts(row.data, "carried")))
