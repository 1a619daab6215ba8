"""Forms of the traveller. They convert; the commands decide."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext_lazy as _

from checklists.engine.vocabulary import VOCABULARY, Fact
from shop.jobs.events.forms import choices
from shop.jobs.facts import TYPED, shown_label, value_from_text

NOT_KNOWN = ("", _("not known"))
YES_NO = (NOT_KNOWN, ("yes", _("yes")), ("no", _("no")))
SECTIONS = (
    "mains-inlet",
    "supply",
    "left-amplifier",
    "right-amplifier",
    "output-relay",
    "preamplifier",
    "controls",
    "mechanism",
    "loudspeaker",
    "front-panel",
)


def field_for(fact: Fact) -> forms.Field:
    """Return the form field for a fact; empty always means not known."""
    if fact.kind == "string":
        return forms.ChoiceField(choices=[NOT_KNOWN, *choices(fact.words)], required=False)
    if fact.kind == "bool":
        return forms.ChoiceField(choices=YES_NO, required=False)
    if fact.kind == "list":
        return forms.MultipleChoiceField(
            choices=choices(fact.words), required=False, widget=forms.CheckboxSelectMultiple
        )
    keyboard = "numeric" if fact.kind == "int" else "decimal"
    return forms.CharField(
        required=False, max_length=20, widget=forms.TextInput(attrs={"inputmode": keyboard})
    )


class FactsForm(forms.Form):
    """Any choice of facts, each with the field that fits it."""

    def __init__(self, *args: Any, facts: tuple[Fact, ...] = TYPED, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for fact in facts:
            self.fields[fact.name] = field_for(fact)
            self.fields[fact.name].label = shown_label(fact)

    def given(self) -> dict[str, str]:
        """Return what was typed or ticked, as text, by fact."""
        found: dict[str, str] = {}
        for name in self.fields:
            value = self.cleaned_data.get(name)
            text = " ".join(value) if isinstance(value, list) else str(value or "")
            if name in VOCABULARY and text.strip():
                found[name] = text
        return found


READING = "reading-"


def readings_from(posted: Any) -> list[tuple[str, object]]:
    """Return the readings typed into a step's fields, as text; the command reads the numbers."""
    return [
        (name.removeprefix(READING), typed)
        for name in posted
        if name.startswith(READING)
        for typed in [posted[name].strip()]
        if typed
    ]


INSTRUMENT = "instrument-"


def instruments_from(posted: Any) -> dict[str, object]:
    """Return what was chosen for each of what is measured; an empty text where none is named."""
    return {
        name.removeprefix(INSTRUMENT): posted[name]
        for name in posted
        if name.startswith(INSTRUMENT)
    }


ANSWER = "answer-"


def answers_from(posted: Any) -> list[tuple[str, object]]:
    """Return the answers of a step's form as (fact, value); what was left empty is left out.

    Ticks of a list come under one name. What makes no sense stays text, for the sentence about it.
    """
    typed = {
        name.removeprefix(ANSWER): " ".join(posted.getlist(name))
        for name in posted
        if name.startswith(ANSWER)
    }
    return [(name, value_from_text(name, cell)) for name, cell in typed.items() if cell.strip()]


def answer_field(fact: Fact, typed: Any, before: str = "") -> BoundField:
    """Return the field in which a fact is answered, with what was typed before a refusal.

    `before` stands before its name, where several steps are on one card.
    """
    given = MultiValueDict({f"{before}{name}": typed.getlist(name) for name in typed or ()})
    prefix = before + ANSWER.rstrip("-")
    form = FactsForm(given or None, facts=(fact,), prefix=prefix, auto_id=False)
    return form[fact.name]
