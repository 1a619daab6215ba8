"""What can be written down about a job: a tile for each sort of entry, and its form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shop.jobs import events, forms
from shop.jobs.events.forms import EventForm
from shop.jobs.queries import Traveller
from shop.lib.text import spaced

# What hands write most, first; each with the name on its tile.
_TILES = {
    "finding_recorded": "Finding",
    "work_done": "Work",
    "trial_run": "Trial",
    "note_added": "Note",
    "soak_reading": "Soak reading",
    "suspect_changed": "Cause",
    "promise_made": "Promised day",
    "entry_withdrawn": "Wrong entry",
}
# Sorts of things, never a measured value, are offered again.
_REPEATED = {"finding_recorded": ("finding", "section"), "work_done": ("work", "section")}


@dataclass(frozen=True)
class Tile:
    """A sort of entry on the page, and what was written of it last."""

    event_type: str
    title: str
    again: str


def tiles(traveller: Traveller) -> dict[str, Any]:
    """Return the tiles, most used first."""
    return {"tiles": [_tile(traveller, kind, title) for kind, title in _TILES.items()]}


def _tile(traveller: Traveller, kind: str, title: str) -> Tile:
    words = [spaced(str(value)) for value in _last(traveller, kind).values() if value]
    return Tile(kind, title, ", ".join(words))


def _last(traveller: Traveller, kind: str) -> dict[str, Any]:
    """Return what of the last entry of a sort can be said again."""
    rows = traveller.record.of_type(kind)
    if not rows:
        return {}
    return {name: rows[-1].data.get(name) for name in _REPEATED.get(kind, ())}


def form(
    traveller: Traveller, kind: str, *, again: bool = False, typed: EventForm | None = None
) -> dict[str, Any]:
    """Return the form of one sort of entry, as it was typed, or with the last kind filled in."""
    form_class = events.find(kind).form
    if form_class is None or not form_class.title:
        return {}
    shown = typed or form_class(initial=_last(traveller, kind) if again else {})
    return {"form": shown, "event_type": kind, "sections": forms.SECTIONS}
