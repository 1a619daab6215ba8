"""One try to see the fault, with its conditions and its outcome."""

from __future__ import annotations

from typing import Annotated, Any

from django import forms

from checklists.engine.vocabulary import CONDITIONS
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event
from shop.jobs.events.forms import EventForm, choices, minutes, note
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record, RecordedTrial


class TrialForm(EventForm):
    """One try to see the fault."""

    title = "A trial"
    fault = forms.ChoiceField(
        label="Outcome",
        choices=(("no", "no fault this time"), ("yes", "the fault showed")),
        widget=forms.RadioSelect,
    )
    conditions = forms.MultipleChoiceField(
        label="Conditions",
        choices=choices(CONDITIONS),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    off_minutes = minutes("Minutes off before it")
    on_minutes = minutes("Minutes on")
    note = note()

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event, the outcome as a flag."""
        data = super().data_for_row()
        return data | {"fault": data["fault"] == "yes"}


class TrialRun(Event):
    """One try to see the fault."""

    event_type = "trial_run"
    by_hands = True
    form = TrialForm
    on_paper = True

    conditions: Annotated[list[str], fields.SomeOf(CONDITIONS)] = []
    off_minutes: fields.Minutes | None = None
    on_minutes: fields.Minutes | None = None
    fault: fields.Flag
    note: fields.Note = ""

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Count it; only a genuine `false` is a trial without the fault."""
        trial = _trial(row)
        record.clean_trials_run = 0 if trial.fault else record.clean_trials_run + 1
        record.trials.append(trial)

    @classmethod
    def reduce_withdrawn(cls, record: Record, row: AnyRow) -> None:
        """Count from here all the same when it showed the fault, and keep what it asked for."""
        trial = _trial(row)
        record.withdrawn_trials.append(trial)
        if trial.fault:
            record.clean_trials_run = 0


def _trial(row: AnyRow) -> RecordedTrial:
    data = row.data
    return RecordedTrial(
        sequence=row.sequence,
        at=row.at,
        fault=data.get("fault") is not False,
        conditions=tuple(stored.texts(data, "conditions")),
        off_minutes=stored.minutes(data, "off_minutes"),
        on_minutes=stored.minutes(data, "on_minutes"),
        note=stored.text(data, "note"),
    )
