"""Work on the unit, with the section and the minutes it took."""

from __future__ import annotations

from typing import Annotated, Self

from django import forms
from django.utils.translation import gettext_lazy as _
from pydantic import model_validator

from checklists.engine import history
from checklists.engine.vocabulary import WORK
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Transaction
from shop.jobs.events.forms import choices, minutes, note, section
from shop.jobs.events.marks import Marked, MarksForm
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record
from shop.lib.pack_words import pack_word
from shop.lib.refusals import Refusal
from shop.lib.text import spaced


class WorkForm(MarksForm):
    """What was done."""

    title = _("Work done")
    work = forms.ChoiceField(label=_("Work"), choices=choices(WORK, _("choose")))
    section = section()
    minutes = minutes(_("Minutes"))
    note = note()
    field_order = ("work", "section", "minutes", "note", "where", "late", "done_at")


class WorkDone(Marked):
    """Work on the unit."""

    event_type = "work_done"
    by_hands = True
    form = WorkForm
    on_paper = True

    work: Annotated[str, fields.OneOf(WORK)]
    section: fields.Section = ""
    minutes: fields.Minutes = 0
    note: fields.Note = ""

    @model_validator(mode="after")
    def _other_is_told(self) -> Self:
        fields.require_words("work", self.work, self.note)
        return self

    @property
    def kind_of_work(self) -> str:
        """The word of the work."""
        return self.work

    def check(self, tx: Transaction) -> list[Refusal]:
        """That a hand may go in, unless a mark says that none does."""
        return self.hands_refusals(tx)

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep each word once; clean trials count from here, whatever was done."""
        record.repaired(row)
        work = stored.needed_text(row.data, "work")
        if work not in record.work:
            record.work.append(work)

    @classmethod
    def reduce_withdrawn(cls, record: Record, row: AnyRow) -> None:
        """Let clean trials count from here all the same."""
        record.withdrawn_work_rows.append(row.sequence)
        record.count_trials_from(row)

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say what was done, and where."""
        work = stored.needed_text(row.data, "work")
        return cls.happened(row, work=work, **cls.marks_of(row))

    @classmethod
    def line(cls, data: stored.Data, record: Record) -> str:
        """Say what was done, where, for how long, and the note."""
        took = f"{data['minutes']:g} min" if data.get("minutes") else ""
        parts = (
            pack_word(data["work"]),
            spaced(data.get("section", "")),
            took,
            *cls.marks_in_words(data),
        )
        return "; ".join(filter(None, [*parts, stored.text(data, "note")]))
