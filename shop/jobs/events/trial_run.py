"""One try to see the fault, or a run of clean ones in one go, with conditions and outcome."""

from __future__ import annotations

from typing import Annotated, Any, Self

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pydantic import Field, Strict, model_validator

from checklists.engine.vocabulary import CONDITIONS
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.forms import EventForm, choices, minutes, note
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record, RecordedTrial
from shop.lib.refusals import Refusal, bad

MOST_IN_ONE_GO = 200
# Minutes are typed whole.
_ROUNDED_MINUTES = 1.0


class TrialForm(EventForm):
    """One try to see the fault."""

    title = _("A trial")
    fault = forms.ChoiceField(
        label=_("Outcome"),
        choices=(("no", _("no fault this time")), ("yes", _("the fault showed"))),
        widget=forms.RadioSelect,
    )
    trials = forms.IntegerField(
        label=_("Clean trials in one go"),
        min_value=1,
        max_value=MOST_IN_ONE_GO,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "placeholder": "1"}),
    )
    conditions = forms.MultipleChoiceField(
        label=_("Conditions"),
        choices=choices(CONDITIONS),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    off_minutes = minutes(_("Minutes off before it"))
    on_minutes = minutes(_("Minutes on"))
    note = note()

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event, the outcome as a flag; one trial says no number."""
        data = super().data_for_row()
        if data.get("trials") == 1:
            del data["trials"]
        return data | {"fault": data["fault"] == "yes"}


class TrialRun(Event):
    """One try to see the fault; `trials` says how many clean ones, where they ran in one go."""

    event_type = "trial_run"
    by_hands = True
    form = TrialForm
    on_paper = True

    conditions: Annotated[list[str], fields.SomeOf(CONDITIONS)] = []
    off_minutes: fields.Minutes | None = None
    on_minutes: fields.Minutes | None = None
    fault: fields.Flag
    trials: (
        Annotated[
            int,
            Strict(),
            Field(ge=1, le=MOST_IN_ONE_GO, description="Clean trials in one go; left out: one."),
            fields.Wanted(f"it must be a whole number from 1 to {MOST_IN_ONE_GO}"),
        ]
        | None
    ) = None
    note: fields.Note = ""

    @model_validator(mode="after")
    def _a_fault_stands_alone(self) -> Self:
        if self.fault and (self.trials or 1) > 1:
            raise bad(
                "trials",
                gettext(
                    "trials is {trials}; a trial that showed the fault is written down alone, "
                    "after the clean ones before it."
                ).format(trials=self.trials),
            )
        return self

    def check(self, tx: Transaction) -> list[Refusal]:
        """That the minutes told fit into the time for which the unit has been here."""
        if not self.on_minutes:
            return []
        ran = sum(trial.on_minutes for trial in tx.record.trials)
        ran += self.on_minutes * (self.trials or 1)
        here = (tx.at - tx.job.received_at).total_seconds() / 60
        if ran > here + _ROUNDED_MINUTES:
            raise bad(
                "on_minutes",
                gettext(
                    "on_minutes is {on_minutes:g}; with it the trials would have run for {ran:g} "
                    "minutes, and the unit has been here for {here:.0f}. Say what ran."
                ).format(on_minutes=self.on_minutes, ran=ran, here=here),
            )
        return []

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Count it; only a genuine `false` is a trial without the fault."""
        trials = _trials(row)
        record.trials.extend(trials)
        if trials[0].fault:
            record.count_trials_from(row)
        else:
            record.clean_trials_run += len(trials)

    @classmethod
    def reduce_withdrawn(cls, record: Record, row: AnyRow) -> None:
        """Count from here all the same when it showed the fault, and keep what it asked for."""
        trials = _trials(row)
        record.withdrawn_trials.extend(trials)
        if trials[0].fault:
            record.count_trials_from(row)


def _trials(row: AnyRow) -> list[RecordedTrial]:
    """Return each trial of a row; a number that cannot be read, or beside a fault, counts as one."""
    data = row.data
    trial = RecordedTrial(
        sequence=row.sequence,
        at=row.at,
        fault=data.get("fault") is not False,
        conditions=tuple(stored.texts(data, "conditions")),
        off_minutes=stored.minutes(data, "off_minutes"),
        on_minutes=stored.minutes(data, "on_minutes"),
        note=stored.text(data, "note"),
    )
    times = stored.whole(data, "trials") or 1
    return [trial] if trial.fault else [trial] * min(max(times, 1), MOST_IN_ONE_GO)
