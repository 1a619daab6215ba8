"""The form of the shop's settings: one field a setting, by its kind."""

from __future__ import annotations

from typing import Any

from django import forms

from shop.preferences.current import InForce
from shop.preferences.definitions import GROUPS
from shop.preferences.kinds import LONGEST

_NUMBERS = {"int": "numeric", "decimal": "decimal"}


class SettingsForm(forms.Form):
    """Every setting as text; what the environment decides is shown and cannot be changed."""

    def __init__(self, *args: Any, in_force: list[InForce], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.in_force = in_force
        for one in in_force:
            self.fields[one.setting.name] = _field(one)

    @property
    def groups(self) -> list[tuple[str, list[tuple[InForce, forms.BoundField]]]]:
        """The fields with where their values come from, under the titles of their groups."""
        return [
            (title, [(o, self[o.setting.name]) for o in self.in_force if o.setting.group == key])
            for key, title in GROUPS.items()
        ]

    def texts(self) -> dict[str, str]:
        """Return what was typed, for the settings that the page decides."""
        return {
            one.setting.name: self.cleaned_data[one.setting.name]
            for one in self.in_force
            if not one.fixed and one.setting.name in self.cleaned_data
        }


def _field(one: InForce) -> forms.Field:
    kind = one.setting.kind
    common: dict[str, Any] = {
        "label": one.setting.title,
        "initial": one.text,
        "required": False,
        "disabled": one.fixed,
        "help_text": one.setting.about,
    }
    if kind.choices:
        return forms.ChoiceField(choices=[(word, word) for word in kind.choices], **common)
    keyboard = {"inputmode": _NUMBERS[kind.name]} if kind.name in _NUMBERS else {}
    return forms.CharField(max_length=LONGEST, widget=forms.TextInput(attrs=keyboard), **common)
