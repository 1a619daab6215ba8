"""Forms of events, and the fields that several of them have. They convert; the event decides."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.utils.functional import Promise, lazy
from django.utils.translation import gettext_lazy as _

from checklists.engine.vocabulary import OTHER
from shop.lib.pack_words import pack_word
from shop.lib.web.number_fields import TypedFloatField

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise as StrPromise

NOTE = _("Note")


class EventForm(forms.Form):
    """A form that becomes the data of one event.

    One with a title is offered under "Write down"; one without belongs to a button somewhere.
    """

    title: ClassVar[str | StrPromise] = ""

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event; empty fields are left out."""
        return {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}


# What a form says for a word that needs more than its hyphens taken out.
_SPOKEN = {OTHER: _("something else: say what")}
_shown = lazy(pack_word, str)


def choices(words: tuple[str, ...], blank: str | Promise = "") -> list[tuple[str, str | Promise]]:
    """Return words as choices, with blanks for hyphens, after a blank line when wanted."""
    spoken: list[tuple[str, str | Promise]] = [
        (word, _SPOKEN.get(word) or _shown(word)) for word in words
    ]
    return [("", blank), *spoken] if blank else spoken


def note(label: str | StrPromise = NOTE, rows: int = 2) -> forms.CharField:
    """Return a field for a few lines of text."""
    area = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(label=label, required=False, widget=area, strip=True)


class SectionInput(forms.TextInput):
    """A section that is tapped, or one that is typed, which counts before it."""

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        """Return what was typed; else what was tapped."""
        given = data.getlist(name) if hasattr(data, "getlist") else [data.get(name)]
        return next((one for one in reversed(given) if one and one.strip()), "")


def section() -> forms.CharField:
    """Return a field for a section of the unit; the page offers the usual ones to tap."""
    return forms.CharField(label=_("Section"), required=False, widget=SectionInput())


def minutes(label: str | StrPromise) -> TypedFloatField:
    """Return a field for minutes."""
    return TypedFloatField(label=label, unit="min", required=False, min_value=0)


class NoteForm(EventForm):
    """A note alone."""

    note = note()
