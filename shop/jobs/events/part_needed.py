"""A part that the job needs; the sequence of its row is its name from then on."""

from __future__ import annotations

from typing import Annotated, Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.jobs.events import fields, stored
from shop.jobs.events.about_needs import require_part
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.jobs.needs import Need
from shop.jobs.record import Record
from shop.lib.refusals import Refusal
from shop.parts.models import Part


class PartForm(EventForm):
    """A part that is needed."""

    title = _("A part needed")
    spec = forms.CharField(label=_("What it must be (not only a part number)"), max_length=500)
    quantity = forms.IntegerField(
        label=_("Pieces"), min_value=1, max_value=9999, required=False, initial=1
    )
    part = forms.IntegerField(required=False, widget=forms.HiddenInput)
    required = forms.BooleanField(
        label=_("The unit cannot leave without it"), required=False, initial=True
    )

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event; an unticked box means not required."""
        return super().data_for_row() | {"required": self.cleaned_data["required"]}


class PartNeeded(Event):
    """A part that the job needs, told by what it must be."""

    event_type = "part_needed"
    by_hands = True
    followers = frozenset({Follower.PARTS})
    form = PartForm
    on_paper = True

    spec: Annotated[str, fields.Text(500, needed=True)]
    required: fields.Flag = True
    quantity: fields.Pieces = 1
    part: fields.PartNumber | None = None
    note: fields.Note = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """BadInput for a part that is not in the list."""
        require_part(self.part)
        return []

    def apply(self, tx: Transaction) -> None:
        """A part of the list that is named by all its words is that part, so its stock is known."""
        if self.part is None:
            self.part = Part.objects.filter(spec=self.spec).values_list("pk", flat=True).first()

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Begin a need; one that cannot be read is needed all the same."""
        record.needs_by_row[row.sequence] = Need(
            sequence=row.sequence,
            spec=stored.text(row.data, "spec") or "a part that cannot be read",
            required=row.data.get("required") is not False,
            quantity=stored.whole(row.data, "quantity") or 1,
            part=stored.whole(row.data, "part"),
        )
