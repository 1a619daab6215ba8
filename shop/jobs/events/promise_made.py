"""The day that the customer was told the unit will be ready."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.jobs.events import fields
from shop.jobs.events.base import Event
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record


class PromiseForm(EventForm):
    """The day the customer was told."""

    title = _("A promised day")
    on = forms.DateField(label=_("Promised for"), widget=forms.DateInput(attrs={"type": "date"}))

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event, the day as text."""
        return {"on": self.cleaned_data["on"].isoformat()}


class PromiseMade(Event):
    """The day that the customer was told; empty takes it back."""

    event_type = "promise_made"
    ability = "note"
    form = PromiseForm

    on: fields.Day
    note: fields.Note = ""

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep the last one."""
        record.promised_on = None
        day = row.data["on"]
        record.promised_on = date.fromisoformat(day) if day else None
