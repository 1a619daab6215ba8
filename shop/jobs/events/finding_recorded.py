"""A condition seen in the unit."""

from __future__ import annotations

from typing import Annotated, Self

from django import forms
from django.utils.translation import gettext_lazy as _
from pydantic import model_validator

from checklists.engine import history
from checklists.engine.vocabulary import FINDINGS
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event
from shop.jobs.events.forms import EventForm, choices, note, section
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record
from shop.lib.pack_words import pack_word
from shop.lib.text import spaced


class FindingForm(EventForm):
    """A condition seen."""

    title = _("A finding")
    finding = forms.ChoiceField(label=_("Finding"), choices=choices(FINDINGS, _("choose")))
    section = section()
    note = note()


class FindingRecorded(Event):
    """A condition seen in the unit."""

    event_type = "finding_recorded"
    by_hands = True
    form = FindingForm
    on_paper = True

    finding: Annotated[str, fields.OneOf(FINDINGS)]
    section: fields.Section = ""
    note: fields.Note = ""

    @model_validator(mode="after")
    def _other_is_told(self) -> Self:
        fields.require_words("finding", self.finding, self.note)
        return self

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep each finding once."""
        finding = stored.needed_text(row.data, "finding")
        if finding not in record.findings:
            record.findings.append(finding)

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say what was found, and where."""
        return cls.happened(
            row,
            finding=stored.needed_text(row.data, "finding"),
            section=stored.text(row.data, "section"),
        )

    @classmethod
    def line(cls, data: stored.Data, record: Record) -> str:
        """Say what was found, where, and the note."""
        parts = (pack_word(data["finding"]), spaced(data.get("section", "")))
        return "; ".join(filter(None, [*parts, stored.text(data, "note")]))
