"""The form of an address that is told."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.lib.outgoing import LONGEST_ADDRESS
from shop.webhooks.events import EVENTS


class EndpointForm(forms.Form):
    """Where to, of what, and whether it may lie in the shop's own network."""

    address = forms.CharField(label=_("Address"), max_length=LONGEST_ADDRESS, widget=forms.URLInput)
    events = forms.MultipleChoiceField(
        label=_("Told when"), choices=list(EVENTS.items()), widget=forms.CheckboxSelectMultiple
    )
    private_allowed = forms.BooleanField(
        label=_("It may lie in a private network (the shop's own, or this machine)"), required=False
    )
