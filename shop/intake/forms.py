"""The form that takes a unit in."""

from __future__ import annotations

import dataclasses
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from checklists.engine.vocabulary import VOCABULARY
from shop.customers.forms import AGREES, country_field, email_field, language_field
from shop.customers.models import Customer, Intake
from shop.intake.services import IntakeDetails
from shop.jobs.forms import FactsForm
from shop.lib.text import spaced

CUSTOMER_FIELDS = (
    "customer_name",
    "customer_phone",
    "customer_email",
    "customer_contact_by",
    "customer_language",
    "customer_ring_above",
    "customer_agreed_to_mail",
    "customer_address",
    "customer_post_code",
    "customer_city",
    "customer_country",
    "customer_came_by",
)

KIND_FACTS = ("unit.kind", "unit.supply", "unit.protective_class", "unit.year")
COMPLAINT_FACTS = (
    "complaint.symptoms",
    "complaint.intermittent",
    "complaint.when",
    "intake.damage",
)
FIRST_FACTS = (*KIND_FACTS, *COMPLAINT_FACTS)


class ReceiveForm(FactsForm):
    """A unit, its complaint, its customer and what is known of it."""

    make = forms.CharField(
        label=_("Make"),
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"list": "makes", "autocomplete": "off"}),
    )
    model = forms.CharField(
        label=_("Model"),
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"list": "models", "autocomplete": "off"}),
    )
    serial = forms.CharField(label=_("Serial number"), max_length=120, required=False)
    complaint = forms.CharField(
        label=_("What the customer says"), required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    arrived_open = forms.BooleanField(label=_("It arrived open, cover off"), required=False)
    customer_name = forms.CharField(label=_("Customer"), max_length=200, required=False)
    customer_phone = forms.CharField(
        label=_("Telephone"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )
    customer_email = email_field()
    customer_contact_by = forms.ChoiceField(
        label=_("Wants to hear by"), choices=[("", _("not asked")), *Customer.WAYS], required=False
    )
    customer_language = language_field()
    customer_ring_above = forms.CharField(
        label=_("Call before going over this price, tax included"),
        max_length=20,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    customer_agreed_to_mail = forms.BooleanField(label=AGREES, required=False)
    customer_address = forms.CharField(
        label=_("Street"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    customer_post_code = forms.CharField(label=_("Post code"), max_length=20, required=False)
    customer_city = forms.CharField(label=_("Town"), max_length=100, required=False)
    customer_country = country_field()
    customer_came_by = forms.ChoiceField(
        label=_("It came"),
        choices=[("", _("not noted")), *Intake.CAME_BY],
        required=False,
        widget=forms.RadioSelect,
    )
    customer_parcel = forms.ChoiceField(
        label=_("The parcel was"), choices=[("", _("not noted")), *Intake.PARCELS], required=False
    )
    customer_accessories = forms.CharField(
        label=_("What came with it, one thing a line"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    # The announcement that this unit is, by its key.
    announced = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)

    def clean_complaint(self) -> str:
        """Return what the customer says; where only a symptom was ticked, that in words."""
        said = str(self.cleaned_data["complaint"])
        ticked = self.data.getlist("complaint.symptoms") if hasattr(self.data, "getlist") else []
        known = VOCABULARY["complaint.symptoms"].words
        return said or ", ".join(spaced(word) for word in ticked if word in known).capitalize()

    def details(self) -> IntakeDetails:
        """Return whose it is and how it came."""
        names = (field.name for field in dataclasses.fields(IntakeDetails))
        return IntakeDetails(**{name: self.cleaned_data[f"customer_{name}"] for name in names})

    def customer_fields(self) -> list[Any]:
        """The fields of the customer."""
        return [self[name] for name in self.fields if name in CUSTOMER_FIELDS]

    def arrival_fields(self) -> list[Any]:
        """The fields of the arrival."""
        return [self[name] for name in ("customer_parcel", "customer_accessories")]

    def kind_facts(self) -> list[Any]:
        """What sort of unit it is."""
        return [self[name] for name in KIND_FACTS]

    def complaint_facts(self) -> list[Any]:
        """What is wrong with it, and marks that it came with."""
        return [self[name] for name in COMPLAINT_FACTS]

    def mistakes(self) -> list[tuple[str, str, str]]:
        """Return the place on the page, the label and the sentence of each field that is wrong."""
        wrong = [self[name] for name in self.errors if name in self.fields]
        return [
            (field.auto_id, str(field.label), " ".join(map(str, field.errors))) for field in wrong
        ]

    def more_facts(self) -> list[Any]:
        """The facts that the rating plate and the service sheet give."""
        return [
            self[name] for name in self.fields if name in VOCABULARY and name not in FIRST_FACTS
        ]
