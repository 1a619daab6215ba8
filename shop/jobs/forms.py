"""Forms of the traveller. They convert; the commands decide."""

from __future__ import annotations

from typing import Any

from django import forms

from checklists.engine.checklist import ListedStep
from checklists.engine.vocabulary import CONDITIONS, FINDINGS, VOCABULARY, WORK, Fact
from shop.bench.units import unit_of
from shop.jobs.facts import TYPED, label

NOT_KNOWN = ("", "not known")
YES_NO = (NOT_KNOWN, ("yes", "yes"), ("no", "no"))
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


def words(choices: tuple[str, ...], blank: str = "") -> list[tuple[str, str]]:
    """Return choices with blanks for hyphens, after a blank line when wanted."""
    spoken = [(word, word.replace("-", " ")) for word in choices]
    return [("", blank), *spoken] if blank else spoken


def field_for(fact: Fact) -> forms.Field:
    """Return the form field for a fact; empty always means not known."""
    if fact.kind == "string":
        return forms.ChoiceField(choices=[NOT_KNOWN, *words(fact.words)], required=False)
    if fact.kind == "bool":
        return forms.ChoiceField(choices=YES_NO, required=False)
    if fact.kind == "list":
        return forms.MultipleChoiceField(
            choices=words(fact.words), required=False, widget=forms.CheckboxSelectMultiple
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
            self.fields[fact.name].label = label(fact)

    def given(self) -> dict[str, str]:
        """Return what was typed or ticked, as text, by fact."""
        found: dict[str, str] = {}
        for name in self.fields:
            value = self.cleaned_data.get(name)
            text = " ".join(value) if isinstance(value, list) else str(value or "")
            if name in VOCABULARY and text.strip():
                found[name] = text
        return found


class RowForm(forms.Form):
    """A form that becomes the data of one ledger row."""

    kind = ""

    def data_for_row(self) -> dict[str, Any]:
        """Return the row's data; empty fields are left out."""
        return {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}


def _note(rows: int = 2) -> forms.CharField:
    area = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(label="Note", required=False, widget=area, strip=True)


def _section() -> forms.CharField:
    return forms.CharField(
        label="Section", required=False, widget=forms.TextInput(attrs={"list": "sections"})
    )


class FindingForm(RowForm):
    """A condition seen."""

    kind = "finding_recorded"
    finding = forms.ChoiceField(label="Finding", choices=words(FINDINGS, "choose"))
    section = _section()
    note = _note()


class TrialForm(RowForm):
    """One try to see the fault."""

    kind = "trial_run"
    fault = forms.ChoiceField(
        label="Outcome",
        choices=(("no", "no fault this time"), ("yes", "the fault showed")),
        widget=forms.RadioSelect,
    )
    conditions = forms.MultipleChoiceField(
        label="Conditions",
        choices=words(CONDITIONS),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    off_minutes = forms.FloatField(label="Minutes off before it", required=False, min_value=0)
    on_minutes = forms.FloatField(label="Minutes on", required=False, min_value=0)
    note = _note()

    def data_for_row(self) -> dict[str, Any]:
        """Return the row's data, the outcome as a flag."""
        data = super().data_for_row()
        return data | {"fault": data["fault"] == "yes"}


class WorkForm(RowForm):
    """What was done."""

    kind = "work_done"
    work = forms.ChoiceField(label="Work", choices=words(WORK, "choose"))
    section = _section()
    minutes = forms.FloatField(label="Minutes", required=False, min_value=0)
    note = _note()


class SuspectForm(RowForm):
    """A possible cause."""

    kind = "suspect_changed"
    suspect = forms.CharField(label="Possible cause", max_length=200)
    change = forms.ChoiceField(
        label="It is", choices=words(("raised", "ruled-out", "confirmed")), initial="raised"
    )
    section = _section()
    evidence = forms.CharField(
        label="Evidence", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class PartForm(RowForm):
    """A part that is needed."""

    kind = "part_needed"
    spec = forms.CharField(label="What it must be (not only a part number)", max_length=500)
    quantity = forms.IntegerField(
        label="Pieces", min_value=1, max_value=9999, required=False, initial=1
    )
    part = forms.IntegerField(required=False, widget=forms.HiddenInput)
    required = forms.BooleanField(
        label="The unit cannot leave without it", required=False, initial=True
    )

    def data_for_row(self) -> dict[str, Any]:
        """Return the row's data; an unticked box means not required."""
        return super().data_for_row() | {"required": self.cleaned_data["required"]}


class PromiseForm(RowForm):
    """The day the owner was told."""

    kind = "promise_made"
    on = forms.DateField(label="Promised for", widget=forms.DateInput(attrs={"type": "date"}))

    def data_for_row(self) -> dict[str, Any]:
        """Return the row's data, the day as text."""
        return {"on": self.cleaned_data["on"].isoformat()}


class NoteForm(RowForm):
    """Anything else."""

    kind = "note_added"
    text = forms.CharField(label="Note", widget=forms.Textarea(attrs={"rows": 3}))


class SoakReadingForm(RowForm):
    """A reading during the soak."""

    kind = "soak_reading"
    quantity = forms.ChoiceField(
        label="Quantity",
        choices=(
            ("sink_celsius", "heat sink temperature (C)"),
            ("offset_millivolts", "offset, the larger channel (mV)"),
            ("bias_millivolts", "bias across the emitter resistor (mV)"),
            ("trips", "trips since the last reading"),
        ),
    )
    value = forms.FloatField(label="Value")

    def data_for_row(self) -> dict[str, Any]:
        """Return the row's data with the unit that belongs to the quantity."""
        data = super().data_for_row()
        return data | {"unit": unit_of(data["quantity"])}


ROW_FORMS: dict[str, type[RowForm]] = {
    form.kind: form
    for form in (
        FindingForm,
        TrialForm,
        WorkForm,
        SuspectForm,
        PartForm,
        PromiseForm,
        NoteForm,
        SoakReadingForm,
    )
}


def readings_from(step: ListedStep, posted: Any) -> list[tuple[str, object]]:
    """Return the readings typed for a step; several values in one field are parted by blanks.

    What is no number stays text, so that the judge can name it.
    """
    found: list[tuple[str, object]] = []
    for reading in step.readings:
        for typed in posted.get(f"reading-{reading.quantity}", "").replace(";", " ").split():
            found.append((reading.quantity, _number(typed)))
    return found


def _number(typed: str) -> object:
    try:
        return float(typed.replace(",", "."))
    except ValueError:
        return typed
