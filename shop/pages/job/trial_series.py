"""A series of trials: what the clean ones count towards, and the conditions of the last one."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from checklists.engine.roles import StepRole
from shop.jobs.events.trial_run import TrialForm
from shop.jobs.queries import Traveller
from shop.jobs.record import Record, RecordedTrial
from shop.jobs.trials import Trials, trials_of
from shop.lib.pack_words import pack_word


@dataclass(frozen=True, kw_only=True)
class TrialSeries:
    """The trials of a job; `asked` says whether the list still asks for clean ones."""

    trials: Trials
    asked: bool
    form: TrialForm
    carried: list[str]

    @property
    def entries(self) -> list[tuple[RecordedTrial, int]]:
        """The trials, each run of clean ones in one go as one, with their number."""
        runs = groupby(self.trials.runs, key=lambda trial: trial.sequence)
        listed = [list(run) for _, run in runs]
        return [(run[0], len(run)) for run in listed]


def series(traveller: Traveller, typed: QueryDict | None = None) -> TrialSeries:
    """Return the series; the form has the conditions of the last trial, or what was typed."""
    carried = _carried(traveller.record)
    step = traveller.checklist.with_role(StepRole.CLEAN_TRIALS)
    return TrialSeries(
        trials=trials_of(traveller.record),
        asked=step is not None and not traveller.job.closed and not step.stands,
        form=TrialForm(typed, initial={"conditions": carried}, auto_id="trial_run-%s"),
        carried=[pack_word(condition) for condition in carried],
    )


def _carried(record: Record) -> list[str]:
    return list(record.trials[-1].conditions) if record.trials else []


def said(record: Record, data: dict[str, Any]) -> str:
    """Return what is said after a trial was written down."""
    if data.get("fault"):
        return _("The fault showed: the clean trials count from 0 again.")
    needed, run = record.clean_trials_needed, record.clean_trials_counted
    said = _("Clean trials: {run} of {needed}.") if needed else _("Clean trials: {run}.")
    if run < record.clean_trials_run:
        said += " " + _("{told} are told; mains was on only long enough for {run}.")
    return said.format(run=run, needed=needed, told=record.clean_trials_run)
