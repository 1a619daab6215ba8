"""Work on the unit, with the section and the minutes it took."""

from __future__ import annotations

from typing import Annotated

from django import forms

from checklists.engine import history
from checklists.engine.vocabulary import WORK
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event
from shop.jobs.events.forms import EventForm, choices, minutes, note, section
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record
from shop.lib.text import spaced


class WorkForm(EventForm):
    """What was done."""

    title = "Work done"
    work = forms.ChoiceField(label="Work", choices=choices(WORK, "choose"))
    section = section()
    minutes = minutes("Minutes")
    note = note()


class WorkDone(Event):
    """Work on the unit."""

    event_type = "work_done"
    by_hands = True
    form = WorkForm
    on_paper = True

    work: Annotated[str, fields.OneOf(WORK)]
    section: fields.Section = ""
    minutes: fields.Minutes = 0
    note: fields.Note = ""

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep each word once; clean trials count from here, whatever was done."""
        record.repaired(row)
        record.work_rows.append(row.sequence)
        work = stored.needed_text(row.data, "work")
        if work not in record.work:
            record.work.append(work)

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say what was done, and where."""
        return history.Event(
            sequence=row.sequence,
            event_type=row.event_type,
            by=row.by_name,
            work=stored.needed_text(row.data, "work"),
            section=stored.text(row.data, "section"),
        )

    @classmethod
    def line(cls, data: stored.Data, record: Record) -> str:
        """Say what was done, where, for how long, and the note."""
        took = f"{data['minutes']:g} min" if data.get("minutes") else ""
        parts = (spaced(data["work"]), spaced(data.get("section", "")), took)
        return "; ".join(filter(None, [*parts, stored.text(data, "note")]))
