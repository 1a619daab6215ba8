"""A picture was taken: what it shows, and by what it can be told."""

from __future__ import annotations

from shop.jobs.events.base import Event


class PhotoAdded(Event):
    """A picture was taken. The bytes stay out of the ledger; their SHA-256 is in it."""

    event_type = "photo_added"
    ability = "note"
    people_write_it = False
    on_closed_job = True

    photo: int
    of: str
    caption: str
    sha256: str
    # The finding or step that it shows, and the picture from before the work.
    row: int | None = None
    step: str | None = None
    before: int | None = None
