"""A reading as it is typed without a connection."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.jobs.events import fields
from shop.jobs.events.forms import EventForm, note


class ReadingForm(EventForm):
    """A figure that belongs to no step."""

    quantity = forms.CharField(label=_("What was read"), max_length=fields.LONGEST_NAME)
    value = forms.FloatField(label=_("Value"), widget=forms.NumberInput(attrs={"step": "any"}))
    unit = forms.CharField(label=_("Unit"), max_length=20, required=False)
    note = note()
