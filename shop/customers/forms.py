"""The form of what is kept of a customer."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.customers.models import Customer
from shop.preferences import languages

AGREES = _("E-mails about this unit are welcome (asked and agreed)")


def email_field() -> forms.CharField:
    """Return the field of an e-mail address."""
    # The door judges it: its sentence names the value, and nothing that was typed is lost.
    return forms.CharField(
        label=_("Customer's e-mail"),
        max_length=254,
        required=False,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )


def country_field() -> forms.CharField:
    """Return the field of a country."""
    return forms.CharField(
        label=_("Country, when it is another (two letters)"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"}),
    )


def language_field() -> forms.ChoiceField:
    """Return the field of the language that somebody reads."""
    return forms.ChoiceField(
        label=_("Reads"),
        choices=[("", _("what is usual here")), *languages.CHOICES],
        required=False,
    )


class CustomerForm(forms.Form):
    """What is kept of a customer."""

    name = forms.CharField(label=_("Name"), max_length=200, required=False)
    phone = forms.CharField(label=_("Telephone"), max_length=60, required=False)
    email = email_field()
    contact_by = forms.ChoiceField(
        label=_("Wants to hear by"), choices=[("", _("not asked")), *Customer.WAYS], required=False
    )
    language = language_field()
    agreed_to_mail = forms.BooleanField(label=AGREES, required=False)
    address = forms.CharField(
        label=_("Street"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    post_code = forms.CharField(label=_("Post code"), max_length=20, required=False)
    city = forms.CharField(label=_("Town"), max_length=100, required=False)
    country = country_field()
