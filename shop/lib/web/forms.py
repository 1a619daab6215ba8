"""Between forms and refusals: what a form finds becomes a sentence, what a move finds goes to its field."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms

from shop.lib.refusals import BadInput


def cleaned(form: forms.Form) -> dict[str, Any]:
    """Return what was typed into a valid form; BadInput names each field by its label."""
    if not form.is_valid():
        raise BadInput([(name, _sentence(form, name)) for name in form.errors])
    return form.cleaned_data


def _sentence(form: forms.Form, name: str) -> str:
    errors = " ".join(str(error) for error in form.errors[name])
    return f"{form[name].label}: {errors}" if name in form.fields else errors


def add_problems(form: forms.Form, error: BadInput, field_for: Callable[[str], str] = str) -> None:
    """Put each sentence at the field it is about; `field_for` gives the form's name for it."""
    for field, sentence in error.problems:
        name = field_for(field)
        form.add_error(name if name in form.fields else None, sentence)
