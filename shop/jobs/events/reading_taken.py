"""A figure that belongs to no step: from a calculator, from a recording."""

from __future__ import annotations

from typing import Annotated

from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Follower


class ReadingTaken(Event):
    """A figure that belongs to no step."""

    event_type = "reading_taken"
    followers = frozenset({Follower.READINGS})
    on_paper = True

    quantity: fields.Name
    value: fields.Value
    unit: fields.Unit = ""
    source: Annotated[str, fields.Text(300)] = ""
    note: fields.Note = ""

    @classmethod
    def measured(cls, data: stored.Data) -> list[stored.Data]:
        """Return it."""
        return [data]

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say what was read, where it is from, and the note."""
        return stored.reading_words(data)
