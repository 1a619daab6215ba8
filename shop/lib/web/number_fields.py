"""Form fields for numbers as people type them, in the shop's own decimal sign."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from shop.lib import typed_numbers
from shop.lib.phrases import said
from shop.preferences import current as preferences


class _Typed:
    """A text box with a keyboard of figures; a number box of a browser would drop 4k7 and 1,2."""

    def __init__(self, *args: Any, unit: str = "", **kwargs: Any) -> None:
        self.unit = unit
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(*args, **kwargs)

    def exact(self, typed: str) -> Decimal:
        """Return the number; ValidationError with the parser's sentence."""
        try:
            return typed_numbers.exact(
                typed, unit=self.unit, decimal=preferences.value("decimal_sign")
            )
        except typed_numbers.TypedWrong as wrong:
            raise ValidationError(said(wrong)) from None

    def to_python(self, value: Any) -> Any:
        """Read text by the shop's parser, and leave all else to the field."""
        if isinstance(value, str) and value.strip():
            value = str(self.exact(value))
        return super().to_python(value)  # type: ignore[misc]


class TypedFloatField(_Typed, forms.FloatField):
    """A number such as a reading: 4k7, 22 mV, 1 200."""


class TypedDecimalField(_Typed, forms.DecimalField):
    """An exact number such as a price: 1 200.50."""
