"""The form on which an owner writes a house rule."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from checklists.engine.pack import Pack
from checklists.engine.vocabulary import VOCABULARY, Fact, accept_one
from checklists.engine.words import GATES, PHASES, SIGNAL_WORDS
from shop.jobs.events.forms import choices
from shop.jobs.facts import value_from_text
from shop.lib.pack_words import pack_text
from shop.lib.web.number_fields import TypedFloatField

ROWS = 3
OPERATIONS = {
    "is": _("is"),
    "is-not": _("is not"),
    "has": _("has"),
    "has-not": _("has not"),
    "above": _("is above"),
    "below": _("is below"),
}
_FOR_KIND = {
    "string": ("is", "is-not"),
    "bool": ("is", "is-not"),
    "list": ("has", "has-not"),
    "int": ("is", "is-not", "above", "below"),
    "double": ("above", "below"),
}
_SIGNS = {"is": "==", "is-not": "!=", "above": ">", "below": "<"}


_CHECKED_AS_TYPED = {
    "hx-post": "/house-rules/check/",
    "hx-trigger": "input changed delay:400ms",
    "hx-target": "#check",
}


class HouseRuleForm(forms.Form):
    """A rule by picking facts and values, or by its condition; with a step or a limit of its own."""

    id = forms.SlugField(label=_("Name of the rule"), max_length=60)
    because = forms.CharField(label=_("Because (one sentence)"), max_length=300)
    source = forms.CharField(
        label=_("Source"), max_length=300, initial="house rule, common practice"
    )
    join = forms.ChoiceField(
        label=_("What must be true"),
        choices=(("all", _("all of these")), ("any", _("any of these"))),
        required=False,
    )
    when = forms.CharField(
        label=_("Condition in CEL"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false", **_CHECKED_AS_TYPED}),
    )
    require = forms.MultipleChoiceField(
        label=_("Steps it requires"), required=False, widget=forms.SelectMultiple(attrs={"size": 7})
    )
    step_title = forms.CharField(
        label=_("A step of your own: title"), required=False, max_length=200
    )
    step_instruction = forms.CharField(
        label=_("What to do"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    step_phase = forms.ChoiceField(label=_("Phase"), choices=choices(PHASES), required=False)
    step_gate = forms.ChoiceField(
        label=_("Holds the gate"),
        choices=choices(tuple(GATES), _("none: it is service")),
        required=False,
    )
    step_hazard = forms.ChoiceField(label=_("Ties to a hazard"), required=False)
    step_signal = forms.ChoiceField(
        label=_("Signal word"), choices=choices(SIGNAL_WORDS, _("no caution")), required=False
    )
    step_caution = forms.CharField(label=_("Caution"), required=False, max_length=500)
    limit_on = forms.ChoiceField(label=_("Tighten a reading"), required=False)
    limit_min = TypedFloatField(label=_("At least"), required=False)
    limit_max = TypedFloatField(label=_("At most"), required=False)

    def __init__(self, *args: Any, pack: Pack, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        steps = sorted(pack.steps.values(), key=lambda step: step.title.lower())
        choices = [(step.key, pack_text(step.title)) for step in steps]
        readings = [
            (
                f"{step.key}/{r.quantity}",
                f"{pack_text(step.title)}: {pack_text(r.title)} ({r.unit})",
            )
            for step in steps
            for r in step.readings
        ]
        self.fields["require"].choices = choices  # type: ignore[attr-defined]
        self.fields["limit_on"].choices = [("", _("none")), *readings]  # type: ignore[attr-defined]
        # Where any of its steps clears a hazard, one more would loosen it.
        hazards = sorted((pack_text(h.title), h.key) for h in pack.hazards if not h.any_clears)
        tied = [("", _("none: it is asked at its gate")), *((key, title) for title, key in hazards)]
        self.fields["step_hazard"].choices = tied  # type: ignore[attr-defined]
        facts = [("", _("choose a fact")), *((name, name) for name in VOCABULARY)]
        for row in range(ROWS):
            self.fields[f"fact{row}"] = forms.ChoiceField(choices=facts, required=False)
            self.fields[f"operation{row}"] = forms.ChoiceField(
                choices=list(OPERATIONS.items()), required=False
            )
            self.fields[f"value{row}"] = forms.CharField(required=False, max_length=100)

    def lines(self) -> list[tuple[Any, Any, Any]]:
        """The rows of fact, operation and value, for the template."""
        return [(self[f"fact{n}"], self[f"operation{n}"], self[f"value{n}"]) for n in range(ROWS)]

    def clean(self) -> dict[str, Any]:
        """Build the condition from the lines when it was not written by hand."""
        data = super().clean() or {}
        if not data.get("when"):
            parts = [self._part(row) for row in range(ROWS) if data.get(f"fact{row}")]
            joint = " || " if data.get("join") == "any" else " && "
            data["when"] = joint.join(part for part in parts if part) or "true"
        if not (data.get("require") or data.get("step_title") or data.get("limit_on")):
            self.add_error(
                None, _("The rule does nothing: choose a step, write one, or tighten a reading.")
            )
        if bool(data.get("step_title")) != bool(data.get("step_instruction")):
            self.add_error(
                "step_instruction", _("A step of your own needs a title and what to do.")
            )
        if data.get("step_hazard") and not (data.get("step_title") and data.get("step_gate")):
            self.add_error(
                "step_hazard", _("A step of your own that holds a gate ties to a hazard.")
            )
        return data

    def _part(self, row: int) -> str:
        name, operation = self.cleaned_data[f"fact{row}"], self.cleaned_data[f"operation{row}"]
        fact, typed = VOCABULARY[name], self.cleaned_data.get(f"value{row}", "")
        if operation not in _FOR_KIND[fact.kind]:
            fitting = gettext(" or ").join(str(OPERATIONS[o]) for o in _FOR_KIND[fact.kind])
            said = gettext("{name}: use {fitting}.").format(name=name, fitting=fitting)
            self.add_error(f"operation{row}", said)
            return ""
        try:
            return _condition(fact, operation, typed)
        except ValueError as error:
            self.add_error(f"value{row}", str(error))
            return ""

    def tables(self) -> dict[str, dict[str, Any] | None]:
        """Return the rule, and the step of its own if there is one, as pack tables."""
        data = self.cleaned_data
        step = self._step()
        required = [*data["require"], *([step["key"]] if step else [])]
        rule = {name: data[name] for name in ("id", "when", "because", "source")}
        rule |= {"require": required}
        if data["limit_on"]:
            rule["limits"] = [self._limit()]
        return {"rule": rule, "step": step}

    def _step(self) -> dict[str, Any] | None:
        data = self.cleaned_data
        if not data["step_title"]:
            return None
        step = {
            "key": f"house-{data['id']}",
            "title": data["step_title"],
            "instruction": data["step_instruction"],
            "phase": data["step_phase"],
            "source": data["source"],
        }
        if data["step_gate"]:
            step |= {"gate": data["step_gate"], "hold": True}
        if data["step_hazard"]:
            step["clears"] = [data["step_hazard"]]
        if data["step_signal"] and data["step_caution"]:
            step["caution"] = {"signal_word": data["step_signal"], "text": data["step_caution"]}
        return step

    def _limit(self) -> dict[str, Any]:
        data = self.cleaned_data
        step, _, quantity = data["limit_on"].partition("/")
        limit = {"step": step, "quantity": quantity, "source": data["source"]}
        ends = {"min": data["limit_min"], "max": data["limit_max"]}
        return limit | {end: value for end, value in ends.items() if value is not None}


def _condition(fact: Fact, operation: str, typed: str) -> str:
    """Return one comparison in CEL; ValueError with a sentence for a value that does not fit."""
    if fact.kind == "list":
        accept_one(fact.name, [typed.strip()])
        held = f'"{typed.strip()}" in {fact.name}'
        return held if operation == "has" else f"!({held})"
    value = accept_one(fact.name, value_from_text(fact.name, typed))
    if fact.kind == "bool":
        return fact.name if value is (operation == "is") else f"!{fact.name}"
    shown = f'"{value}"' if fact.kind == "string" else repr(value)
    return f"{fact.name} {_SIGNS[operation]} {shown}"
