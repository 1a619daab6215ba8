"""Forms of calculations, made from their inputs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.bench.calculations import Calculation, Input
from shop.bench.units import spoken, typeset
from shop.lib import typed_numbers
from shop.lib.calculator_words import calculated
from shop.lib.phrases import said
from shop.preferences import current as preferences


class CalculationForm(forms.Form):
    """The inputs of one calculation. Empty means: leave it to the calculation."""

    def __init__(
        self, calculation: Calculation, typed: QueryDict | None = None, **kwargs: Any
    ) -> None:
        # A choice that was not made shows what is taken for it, and not the first of its words.
        words = {n: a.default for n, a in calculation.inputs.items() if a.words and a.default}
        super().__init__(None if typed is None else words | typed.dict(), **kwargs)
        for asked in calculation.inputs.values():
            self.fields[asked.name] = _field(asked)

    @property
    def plain(self) -> list[Any]:
        """The fields, but for the box that says a doubtful number is meant."""
        return [field for field in self if field.name != "meant"]

    @property
    def first_error(self) -> str:
        """Return the first field that is refused and what is said of it."""
        name, said = next(iter(self.errors.items()))
        return f"{self.fields[name].label}: {said[0]}"

    def arguments(self, inputs: dict[str, Input]) -> dict[str, Any]:
        """Return what was typed as values; ValueError names a field that cannot be read."""
        typed = {name: self.cleaned_data.get(name) for name in inputs}
        return {
            name: _value(inputs[name], value)
            for name, value in typed.items()
            if value not in ("", None, False)
        }


def label_of(asked: Input) -> str:
    """Return what a form calls an input, in the language of the page: 'Voltage (V)'."""
    name = calculated(spoken(asked.name))
    name = name[:1].upper() + name[1:]
    return f"{name} ({typeset(asked.unit)})" if asked.unit else name


def _field(asked: Input) -> forms.Field:
    label = label_of(asked)
    if asked.kind == "yes-no":
        return forms.BooleanField(label=label, required=False)
    if asked.words:
        empty = [] if asked.default else [("", _("not said"))]
        return forms.ChoiceField(
            label=label,
            choices=[*empty, *((word, calculated(word)) for word in asked.words)],
            required=False,
            initial=asked.default,
            error_messages={
                "invalid_choice": _("'%(value)s' must be one of {words}.").format(
                    words=", ".join(asked.words)
                )
            },
        )
    if asked.many:
        label = _("{name}, parted by blanks").format(name=label)
    # Nothing is typed for the reader: the placeholder shows what holds when it stays empty.
    hint = asked.default_text or ("" if asked.needed else _("not needed"))
    keyboard = {} if asked.many or asked.kind == "text" else {"inputmode": "decimal"}
    widget = forms.TextInput(attrs={"autocomplete": "off", "placeholder": hint, **keyboard})
    return forms.CharField(label=label, required=False, max_length=2000, widget=widget)


def _value(asked: Input, typed: Any) -> Any:
    if asked.kind in ("number", "whole"):
        return _read(asked, typed, typed_numbers.number)
    if asked.kind == "numbers":
        return _read(asked, typed, typed_numbers.several)
    return typed.split() if asked.kind == "texts" else typed


def _read(asked: Input, typed: str, read: Callable[..., Any]) -> Any:
    try:
        return read(typed, unit=asked.unit, decimal=preferences.value("decimal_sign"))
    except typed_numbers.TypedWrong as wrong:
        raise ValueError(f"{label_of(asked)}: {said(wrong)}") from None


class ToJobForm(forms.Form):
    """Where a result goes."""

    job = forms.IntegerField(
        label=gettext_lazy("Job"),
        min_value=1,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
