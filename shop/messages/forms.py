"""Forms of the messages."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.messages.message_templates import LONGEST_TEXT


class MessageTemplateForm(forms.Form):
    """The template of an occasion."""

    subject = forms.CharField(label=_("Subject"), max_length=200)
    text = forms.CharField(
        label=_("Text"), max_length=LONGEST_TEXT, widget=forms.Textarea(attrs={"rows": 14})
    )

    def __init__(self, *args: Any, language: str, **more: Any) -> None:
        super().__init__(*args, **more)
        for field in self.fields.values():
            field.widget.attrs["lang"] = language


class ShippedForm(forms.Form):
    """The unit has left the house."""

    carrier = forms.CharField(
        label=_("Carrier"),
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"list": "carriers", "autocomplete": "off"}),
    )
    tracking = forms.CharField(label=_("Their number"), max_length=200, required=False)
    note = forms.CharField(
        label=_("Note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
