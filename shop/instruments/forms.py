"""Forms of an instrument and of one range."""

from __future__ import annotations

from typing import Any

from django import forms

from checklists.engine.words import MEASURED
from shop.instruments.models import Instrument
from shop.instruments.services import About
from shop.lib import typed_numbers
from shop.lib.web.number_fields import TypedFloatField
from shop.preferences import current as preferences


class InstrumentForm(forms.Form):
    """What it is called, and when it was calibrated."""

    name = forms.CharField(label="Name on the bench", max_length=80)
    make_model = forms.CharField(label="Make and model", max_length=120, required=False)
    serial = forms.CharField(label="Serial number", max_length=120, required=False)
    calibrated_on = forms.DateField(
        label="Calibrated on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    due_on = forms.DateField(
        label="Next calibration due", required=False, widget=forms.DateInput(attrs={"type": "date"})
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
        label="Measures", choices=[(word, said[0]) for word, said in MEASURED.items()]
    )
    up_to = forms.CharField(label="Range up to, such as 600 mV", max_length=20)
    reading_percent = TypedFloatField(label="% of the reading", unit="%", required=False)
    range_percent = TypedFloatField(label="% of the range", unit="%", required=False)
    counts = TypedFloatField(label="Counts of the last digit", required=False)
    resolution = forms.CharField(label="Last digit, such as 0.1 mV", max_length=20, required=False)

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
            self.add_error(name, str(wrong))
            return None

    @property
    def off(self) -> dict[str, float]:
        """What makes up how far a reading may be off."""
        names = ("reading_percent", "range_percent", "counts", "resolution")
        return {name: float(self.cleaned_data.get(name) or 0) for name in names}
