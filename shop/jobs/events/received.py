"""A unit came in, and a job was opened for it."""

from __future__ import annotations

from shop.jobs.events.base import Event, Follower


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
