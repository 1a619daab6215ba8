"""Forms of an instrument and of one range."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from checklists.engine.words import MEASURED
from shop.instruments import accuracies, scpi
from shop.instruments.models import Connection, Instrument
from shop.instruments.services import About
from shop.lib import typed_numbers
from shop.lib.phrases import said
from shop.lib.web.number_fields import TypedFloatField
from shop.preferences import current as preferences


class InstrumentForm(forms.Form):
    """What it is called, and when it was calibrated."""

    name = forms.CharField(label=_("Name on the bench"), max_length=80)
    make_model = forms.CharField(label=_("Make and model"), max_length=120, required=False)
    serial = forms.CharField(label=_("Serial number"), max_length=120, required=False)
    calibrated_on = forms.DateField(
        label=_("Calibrated on"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    due_on = forms.DateField(
        label=_("Next calibration due"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
    )

    @property
    def about(self) -> About:
        """What was typed."""
        return About(**self.cleaned_data)

    @classmethod
    def of(cls, instrument: Instrument) -> InstrumentForm:
        """Return the form as an instrument fills it."""
        filled = {name: getattr(instrument, name) for name in cls.base_fields}
        for name in ("calibrated_on", "due_on"):
            filled[name] = filled[name].isoformat() if filled[name] else None
        return cls(initial=filled)


class AccuracyForm(forms.Form):
    """The accuracy of one range, as the data sheet has it."""

    measures = forms.ChoiceField(
        label=_("Measures"), choices=[(word, said[0]) for word, said in MEASURED.items()]
    )
    up_to = forms.CharField(label=_("Range up to, such as 600 mV"), max_length=20)
    reading_percent = TypedFloatField(label=_("% of the reading"), unit="%", required=False)
    range_percent = TypedFloatField(label=_("% of the range"), unit="%", required=False)
    counts = TypedFloatField(label=_("Counts of the last digit"), required=False)
    resolution = forms.CharField(
        label=_("Last digit, such as 0.1 mV"), max_length=20, required=False
    )

    def clean(self) -> dict[str, Any]:
        """Read the two amounts in the unit of what is measured."""
        cleaned = super().clean() or {}
        unit = MEASURED.get(cleaned.get("measures", ""), ("", ""))[1]
        for name in ("up_to", "resolution"):
            typed = cleaned.get(name)
            if typed and unit:
                cleaned[name] = self._amount(name, typed, unit)
        return cleaned

    def _amount(self, name: str, typed: str, unit: str) -> float | None:
        decimal = preferences.value("decimal_sign")
        try:
            return typed_numbers.number(typed, unit=unit, decimal=decimal)
        except typed_numbers.TypedWrong as wrong:
            self.add_error(name, said(wrong))
            return None

    @property
    def off(self) -> dict[str, float]:
        """What makes up how far a reading may be off."""
        names = ("reading_percent", "range_percent", "counts", "resolution")
        return {name: float(self.cleaned_data.get(name) or 0) for name in names}


class ConnectionForm(forms.Form):
    """Where an instrument is reached, and what it is asked for each of what it measures."""

    resource = forms.CharField(
        label=_("Address, as VISA writes it"),
        max_length=200,
        widget=forms.TextInput(attrs={"placeholder": "TCPIP::192.168.1.20::5025::SOCKET"}),
    )
    baud = forms.TypedChoiceField(
        label=_("Speed, on a serial line"),
        coerce=int,
        choices=[(baud, f"{baud} baud") for baud in scpi.BAUDS],
        initial=9600,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for measures, command in scpi.STANDARD.items():
            name = accuracies.title(measures)
            self.fields[f"can-{measures}"] = forms.BooleanField(
                label=_("Reads {name}").format(name=name), required=False
            )
            self.fields[f"ask-{measures}"] = forms.CharField(
                label=_("Asked for {name}").format(name=name),
                max_length=scpi.LONGEST,
                required=False,
                widget=forms.TextInput(attrs={"placeholder": command}),
            )

    @property
    def pairs(self) -> list[tuple[BoundField, BoundField]]:
        """For each quantity, whether it reads it and what it is asked."""
        return [(self[f"can-{m}"], self[f"ask-{m}"]) for m in scpi.STANDARD]

    @property
    def commands(self) -> dict[str, str]:
        """What it is asked, by quantity, for what is ticked."""
        kept = self.cleaned_data
        return {m: kept[f"ask-{m}"] for m in scpi.STANDARD if kept[f"can-{m}"]}

    @classmethod
    def of(cls, connection: Connection | None, proposed: str = "") -> ConnectionForm:
        """Return the form as a connection fills it; without one, `proposed` is the address."""
        if connection is None:
            return cls(initial={"resource": proposed})
        filled: dict[str, Any] = {"resource": connection.resource, "baud": connection.baud}
        for measures, command in connection.commands.items():
            filled |= {f"can-{measures}": True, f"ask-{measures}": command}
        return cls(initial=filled)
