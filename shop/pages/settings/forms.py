"""The form of the shop's settings: one field a setting, by its kind."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from babel import Locale
from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.lib import languages
from shop.photos import logos
from shop.preferences import kinds
from shop.preferences.current import InForce, group_titles
from shop.preferences.kinds import LONGEST
from shop.preferences.languages import NAMES

_NUMBERS = {"int": "numeric", "decimal": "decimal", "volts": "numeric", "places": "numeric"}
# Words that stand for others on the page.
_WORDS: dict[str, str | Promise] = {
    "a4": "A4",
    "us-letter": gettext_lazy("US Letter"),
    "starttls": gettext_lazy("STARTTLS (usual, port 587)"),
    "tls": gettext_lazy("TLS from the start (port 465)"),
    "none": gettext_lazy("none, within your own network"),
    ".": gettext_lazy("1.5 (point)"),
    ",": gettext_lazy("1,5 (comma)"),
    "yes": gettext_lazy("yes"),
    "no": gettext_lazy("no"),
    **NAMES,
}


@dataclass(frozen=True)
class Group:
    """The settings that are folded together on the page."""

    key: str
    title: str
    lines: list[tuple[InForce, forms.BoundField]]

    @property
    def wrong(self) -> bool:
        """Whether one of its fields was refused, so that it must stand open."""
        return any(field.errors for _, field in self.lines)


class SettingsForm(forms.Form):
    """Every setting as text; what the environment decides is shown and cannot be changed."""

    def __init__(self, *args: Any, in_force: list[InForce], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.in_force = in_force
        for one in in_force:
            self.fields[one.setting.name] = field_for(one)

    @property
    def groups(self) -> list[Group]:
        """The fields with where their values come from, by their groups."""
        return [
            Group(
                key,
                title,
                [(o, self[o.setting.name]) for o in self.in_force if o.setting.group == key],
            )
            for key, title in group_titles().items()
        ]

    def changed_texts(self) -> dict[str, str | None]:
        """Return what differs from what was shown; an emptied field goes back to its default.

        BadInput for a logo that is no picture.
        """
        texts = {one.setting.name: self._typed(one) for one in self.in_force if not one.fixed}
        shown = {one.setting.name: one for one in self.in_force}
        return {
            name: text if text or not shown[name].setting.default else None
            for name, text in texts.items()
            if text != shown[name].text
        }

    def _typed(self, one: InForce) -> str:
        """Return the text of a setting as typed; what is shown where nothing was."""
        name, typed = one.setting.name, self.cleaned_data.get(one.setting.name)
        if one.setting.kind is not kinds.PICTURE:
            return "\n".join(str(typed or "").splitlines())
        if typed is False:  # the tick that takes it away
            return ""
        file = self.files.get(name)
        return logos.as_setting(file.name or _("The file"), file.read()) if file else one.text


def field_for(one: InForce) -> forms.Field:
    """Return the field of one setting."""
    common: dict[str, Any] = {
        "label": one.title,
        "initial": one.text,
        "required": False,
        "disabled": one.fixed,
        "help_text": one.about,
    }
    if one.setting.kind is kinds.PICTURE:
        return forms.FileField(
            widget=PictureInput({"accept": "image/*"}), **(common | {"initial": None})
        )
    # A text that is none of the choices gets the sentence of its kind, not one of the field.
    return forms.CharField(max_length=LONGEST, widget=_widget(one), **common)


def _widget(one: InForce) -> forms.Widget:
    kind = one.setting.kind
    choices = _languages() if one.setting.name == "pages_language" else _choices(kind)
    if choices:
        return forms.Select(choices=choices)
    if kind in (kinds.LINES, kinds.CARRIERS):
        return forms.Textarea(attrs={"rows": 3})
    if kind is kinds.SECRET:
        kept = _("kept; type another to change it") if one.source == "page" else ""
        return forms.PasswordInput(attrs={"autocomplete": "new-password", "placeholder": kept})
    keyboard = {"inputmode": _NUMBERS[kind.name]} if kind.name in _NUMBERS else {}
    return forms.TextInput(attrs=keyboard)


def _choices(kind: kinds.Kind) -> list[tuple[str, str | Promise]]:
    if kind is kinds.COUNTRY:
        return [("", _("not set")), *_countries(languages.in_force())]
    if kind is kinds.TIME_ZONE:
        return [(zone, zone.replace("_", " ")) for zone in sorted(kinds.zones())]
    return [(word, _WORDS.get(word, word)) for word in kind.choices]


def in_words(text: str) -> str:
    """Return what the page calls a value: 'English' for en, '1.5 (point)' for a point."""
    return str(_WORDS.get(text, text))


def country_name(code: str) -> str:
    """Return what a country is called in the language of the pages."""
    return dict(_countries(languages.in_force())).get(code, code)


def _languages() -> list[tuple[str, str]]:
    """Return the languages of the pages, each with how much of them it says."""
    share = _("{language}: {percent} % of the words")
    return [
        (code, share.format(language=name, percent=languages.percent_translated(code)))
        for code, name in NAMES.items()
    ]


@cache
def _countries(language: str) -> list[tuple[str, str]]:
    """Return the countries of ISO 3166 by the names that CLDR has for them in a language."""
    names = Locale(language).territories.items()
    real = [(code, name) for code, name in names if len(code) == 2 and code.isalpha()]
    return sorted((pair for pair in real if pair[0] not in _NO_COUNTRIES), key=lambda pair: pair[1])


# Codes of CLDR that stand for no country.
_NO_COUNTRIES = {"EU", "EZ", "UN", "XA", "XB", "ZZ", "QO"}


class PictureInput(forms.FileInput):
    """Takes a picture, or a tick beside it that takes the one that is kept away."""

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        file = super().value_from_datadict(data, files, name)
        return False if not file and data.get(f"{name}-remove") else file
