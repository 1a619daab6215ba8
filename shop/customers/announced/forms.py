"""The form of a unit that is on its way, for the shop and, in other words, for the customer."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.customers.announced import services
from shop.customers.forms import AGREES, email_field, language_field
from shop.customers.models import Customer
from shop.preferences import languages

_ROWS_OF_UNIT = ("make", "model", "serial", "complaint")
_ROWS_OF_PARCEL = ("carrier", "tracking", "expected_on")
_FOR_CUSTOMER = {
    "complaint": _("What is wrong with it"),
    "name": _("Your name"),
    "phone": _("Your telephone"),
    "email": _("Your e-mail"),
    "contact_by": _("How you want to hear from us"),
    "language": _("Your language"),
    "agreed_to_mail": _("E-mails about this unit are welcome"),
    "address": _("Address to send it back to"),
    "carrier": _("Who carries the parcel, if you send one"),
    "tracking": _("Number of the parcel"),
    "expected_on": _("When it will be with us"),
}
_WAYS = {
    Customer.EMAIL: _("e-mail"),
    Customer.TELEPHONE: _("telephone"),
    Customer.LETTER: _("letter"),
}

# What a browser may fill in, so that a phone types little (WCAG 2.2, 1.3.5).
_KNOWN_TO_BROWSERS = {
    "name": "name",
    "phone": "tel",
    "email": "email",
    "address": "street-address",
}


class AnnouncementForm(forms.Form):
    """A unit that is on its way; the service says what is wrong with a field."""

    make = forms.CharField(label=pgettext_lazy("unit", "Make"), max_length=120, required=False)
    model = forms.CharField(label=pgettext_lazy("unit", "Model"), max_length=120, required=False)
    serial = forms.CharField(label=_("Serial number"), max_length=120, required=False)
    complaint = forms.CharField(
        label=_("What the customer says"),
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    name = forms.CharField(label=_("Name"), max_length=200, required=False)
    phone = forms.CharField(
        label=_("Telephone"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )
    email = email_field()
    contact_by = forms.ChoiceField(
        label=_("Wants to hear by"), choices=[("", _("not asked")), *Customer.WAYS], required=False
    )
    language = language_field()
    agreed_to_mail = forms.BooleanField(label=AGREES, required=False)
    address = forms.CharField(
        label=_("Address to send it back to"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    carrier = forms.CharField(
        label=_("Carrier"),
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"list": "carriers", "autocomplete": "off"}),
    )
    tracking = forms.CharField(label=_("Number of the parcel"), max_length=200, required=False)
    expected_on = forms.CharField(
        label=_("Expected on"),
        max_length=10,
        required=False,
        # Browsers read one form alone, whatever the language of the page.
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    whose: str | Promise = _("Customer")

    def groups(self) -> list[tuple[str | Promise, list[Any]]]:
        """Return the fields under their titles."""
        of_customer = (*services.PERSONAL, "agreed_to_mail")
        return [
            (_("Unit"), [self[name] for name in _ROWS_OF_UNIT]),
            (self.whose, [self[name] for name in self.fields if name in of_customer]),
            (_("Parcel"), [self[name] for name in _ROWS_OF_PARCEL]),
        ]


class CustomersForm(AnnouncementForm):
    """The same for the customer."""

    whose: str | Promise = pgettext_lazy("heading", "You")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, words in _FOR_CUSTOMER.items():
            self.fields[name].label = words
        for name, purpose in _KNOWN_TO_BROWSERS.items():
            self.fields[name].widget.attrs["autocomplete"] = purpose
        self.fields["contact_by"].choices = [("", _("as you like")), *_WAYS.items()]  # type: ignore[attr-defined]
        self.fields["language"].choices = languages.CHOICES  # type: ignore[attr-defined]
