"""The form of an outlet. It converts; the services decide."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.lib.web.number_fields import TypedFloatField
from shop.outlets.models import KINDS, Outlet

OF_MQTT = ("topic", "username", "password", "tls", "authority")
OF_MODBUS = ("unit", "first_register")


class OutletForm(forms.Form):
    """Where an outlet is found on the network, and how it is spoken to."""

    name = forms.CharField(label=_("Name on the bench"), max_length=60)
    kind = forms.ChoiceField(label=_("Speaks"), choices=list(KINDS.items()))
    host = forms.CharField(label=_("Broker, or the outlet itself"), max_length=200)
    port = forms.IntegerField(label=_("Port (MQTT with TLS 8883, Modbus 502)"), initial=8883)
    least_watts = TypedFloatField(
        label=_("Least power that it tells from none"), unit="W", initial="1"
    )
    topic = forms.CharField(
        label=_("Topic before /state and /enable"), max_length=200, required=False
    )
    username = forms.CharField(label=_("User at the broker"), max_length=120, required=False)
    password = forms.CharField(
        label=_("Password"),
        max_length=200,
        required=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    tls = forms.BooleanField(label=_("Encrypted (TLS)"), required=False, initial=True)
    authority = forms.CharField(
        label=_("Certificate of the broker's authority, as PEM; empty: those of this machine"),
        max_length=20_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
    )
    unit = forms.IntegerField(label=_("Modbus unit"), required=False, initial=1)
    first_register = forms.IntegerField(label=_("First register"), required=False, initial=0)

    @classmethod
    def of(cls, outlet: Outlet) -> OutletForm:
        """Return the form as an outlet fills it; its password is never shown."""
        names = [name for name in cls.base_fields if name != "password"]
        filled: dict[str, Any] = {name: getattr(outlet, name) for name in names}
        return cls(initial=filled | {"least_watts": f"{outlet.least_watts:g}"})

    def always(self) -> list[forms.BoundField]:
        """Return the fields that every outlet has."""
        return [field for field in self if field.name not in (*OF_MQTT, *OF_MODBUS)]

    def of_mqtt(self) -> list[forms.BoundField]:
        """Return the fields of an outlet at a broker."""
        return [self[name] for name in OF_MQTT]

    def of_modbus(self) -> list[forms.BoundField]:
        """Return the fields of an outlet by Modbus."""
        return [self[name] for name in OF_MODBUS]
