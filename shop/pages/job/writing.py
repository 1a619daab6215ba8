"""What can be written down about a job: a tile for each sort of entry, and its form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_lazy as _

from shop.jobs import events, forms, ledger_words
from shop.jobs.events.base import Event
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.forms import EventForm
from shop.jobs.events.work_done import WorkDone
from shop.jobs.queries import Traveller
from shop.lib.text import spaced

# What hands write most stands first; a sort of entry that nobody named here follows.
_FIRST = ("finding_recorded", "work_done", "trial_run", "note_added")
_SHORT = {
    "finding_recorded": _("Finding"),
    "note_added": _("Note"),
    "promise_made": _("Promised day"),
    "soak_reading": _("Soak reading"),
    "trial_run": _("Trial"),
    "work_done": _("Work"),
    "suspect_changed": _("Cause"),
}
# On the page of parts; and at the entry itself, where it is seen.
_ELSEWHERE = ("part_needed", "entry_withdrawn")
_ENTRIES = 6
# Sorts of things, never a measured value, are offered again.
_REPEATED = {
    "finding_recorded": ("finding", "section"),
    "work_done": ("work", "section"),
    "suspect_changed": ("suspect", "section"),
    "soak_reading": ("quantity", "unit"),
}


@dataclass(frozen=True)
class Tile:
    """A sort of entry on the page, and what was written of it last."""

    event_type: str
    title: str
    again: str


def tiles(traveller: Traveller) -> dict[str, Any]:
    """Return the tiles, most used first: one for every event whose form has a title."""
    offered = [
        event
        for event in events.EVENTS
        if event.form and event.form.title and event.event_type not in _ELSEWHERE
    ]
    return {
        "tiles": [_tile(traveller, event) for event in sorted(offered, key=_place)],
        "entries": ledger_words.withdrawable(traveller.record, most=_ENTRIES),
    }


def _place(event: type[Event]) -> int:
    return _FIRST.index(event.event_type) if event.event_type in _FIRST else len(_FIRST)


def _tile(traveller: Traveller, event: type[Event]) -> Tile:
    kind = event.event_type
    title = str(event.form.title) if event.form else ""
    short = title.removeprefix("A ").removeprefix("An ")
    words = [spaced(str(value)) for value in last_of(traveller, kind).values() if value]
    shown = str(_SHORT.get(kind) or short[:1].upper() + short[1:])
    return Tile(kind, shown, ", ".join(words))


def last_of(traveller: Traveller, kind: str) -> dict[str, Any]:
    """Return what of the last entry of a sort can be said again."""
    rows = traveller.record.of_type(kind)
    if not rows:
        return {}
    return {name: rows[-1].data.get(name) for name in _REPEATED.get(kind, ())}


def _place_of_finding(traveller: Traveller, kind: str) -> dict[str, Any]:
    """Return the section of the last finding for a work that is written down: it mends what was found."""
    if kind != WorkDone.event_type:
        return {}
    return {"section": last_of(traveller, FindingRecorded.event_type).get("section")}


def form(
    traveller: Traveller,
    kind: str,
    *,
    again: bool = False,
    typed: EventForm | None = None,
    minutes: int | None = None,
    chosen: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Return the form of one sort of entry, as it was typed, or with the last kind filled in.

    `minutes` are those of the labour clock; `chosen` may name kind and section, and nothing else.
    """
    form_class = events.find(kind).form
    if form_class is None or not form_class.title:
        return {}
    last = last_of(traveller, kind) if again else _place_of_finding(traveller, kind)
    named = {name: (chosen or {}).get(name) for name in _REPEATED.get(kind, ())}
    known = {name: value for name, value in named.items() if value}
    shown = typed or form_class(initial={"minutes": minutes} | last | known)
    return {"form": shown, "event_type": kind, "sections": forms.SECTIONS}
