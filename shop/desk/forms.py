"""The form that takes a unit in."""

from __future__ import annotations

from typing import Any

from django import forms

from checklists.engine.vocabulary import VOCABULARY
from shop.jobs.forms import FactsForm

FIRST = (
    "unit.kind",
    "unit.supply",
    "unit.protective_class",
    "complaint.symptoms",
    "complaint.intermittent",
    "complaint.when",
    "intake.damage",
)


class ReceiveForm(FactsForm):
    """A unit, its complaint, its owner and what is known of it."""

    make = forms.CharField(max_length=120, required=False)
    model = forms.CharField(max_length=120, required=False)
    serial = forms.CharField(label="Serial number", max_length=120, required=False)
    complaint = forms.CharField(
        label="What the owner says", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    owner_name = forms.CharField(label="Owner", max_length=200, required=False)
    owner_email = forms.CharField(
        label="Owner's e-mail",
        max_length=254,
        required=False,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )

    def first_facts(self) -> list[Any]:
        """The facts to ask at the counter."""
        return [self[name] for name in FIRST]

    def more_facts(self) -> list[Any]:
        """The facts that the rating plate and the service sheet give."""
        return [self[name] for name in self.fields if name in VOCABULARY and name not in FIRST]
