"""A step as it is shown: its plan worked out, its fields, and what was typed before a refusal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.translation import gettext as _

from checklists.engine.checklist import ListedStep
from checklists.engine.vocabulary import VOCABULARY
from shop.bench import formatting, registry
from shop.instruments.models import Instrument
from shop.instruments.queries import Offer
from shop.jobs import events, forms
from shop.jobs.earlier_readings import Strip
from shop.jobs.facts import shown_label
from shop.jobs.queries import Traveller
from shop.lib.calculator_words import calculated
from shop.lib.text import whole


@dataclass(frozen=True)
class StepView:
    """A step with its plan worked out and what was typed before a refusal."""

    listed: ListedStep
    plan: list[tuple[str, str]]
    plan_missing: str
    # Each with what is typed, the readings before it, and the instruments that can be asked for it.
    inputs: list[tuple[Any, str, Strip | None, list[Instrument]]]
    answers: list[BoundField]
    note: str = ""
    # What a waiver of a step that failed may rest on: rows, and what they say. None: it did not fail.
    looks: Sequence[tuple[int, str]] | None = None
    # What may be named as the instrument, for each of what the step measures.
    instruments: Sequence[Offer] = ()

    @property
    def key(self) -> str:
        """The step's key."""
        return self.listed.key

    @property
    def metered(self) -> bool:
        """Whether an instrument can be asked for one of its readings."""
        return any(meters for *_, meters in self.inputs)


def new_looks(traveller: Traveller, key: str) -> list[tuple[int, str]] | None:
    """Return the rows of what was looked at since a step failed; None when it did not fail."""
    history = traveller.record.history
    if key not in history.unproved:
        return None
    said = {row.sequence: row for row in traveller.record.rows}
    return [(n, "; ".join(events.words(said[n]))) for n in history.new_looks(key) if n in said]


def step_view(
    step: ListedStep,
    typed: QueryDict,
    past: dict[str, Strip] | None = None,
    looks: Sequence[tuple[int, str]] | None = None,
    recorded: Mapping[str, float] | None = None,
    instruments: Sequence[Offer] = (),
    before: str = "",
    meters: Mapping[str, list[Instrument]] | None = None,
) -> StepView:
    """Return a step ready to be shown; `typed` refills the form it came from.

    Hours and counts that the record knows (`recorded`) stand in their fields already. `before`
    stands before the names of its fields, where it is not the first step on a card. `meters`: what
    can be asked over a line, by what it measures.
    """
    mine = typed if typed.get("step") == step.key else QueryDict()
    known = {name: f"{value:g}" for name, value in (recorded or {}).items()}
    inputs = [
        (
            r,
            mine.get(f"reading-{r.quantity}", known.get(r.quantity, "")),
            (past or {}).get(r.quantity),
            (meters or {}).get(r.measures, []),
        )
        for r in step.readings
    ]
    answers = [forms.answer_field(VOCABULARY[one.fact], mine, before) for one in step.answers]
    plan, missing = _plan(step)
    offered = [_chosen(one, mine) for one in instruments]
    return StepView(step, plan, missing, inputs, answers, mine.get("note", ""), looks, offered)


def _chosen(offer: Offer, typed: QueryDict) -> Offer:
    """Return an offer with what was chosen before a refusal in place of what is proposed."""
    name = f"instrument-{offer.measures}"
    return replace(offer, chosen=whole(str(typed[name]))) if name in typed else offer


def _plan(step: ListedStep) -> tuple[list[tuple[str, str]], str]:
    if step.plan is None:
        return [], ""
    if step.plan.missing:
        wanted = ", ".join(shown_label(VOCABULARY[name]) for name in step.plan.missing)
        return [], _("Record this first, then the plan is worked out here: {facts}.").format(
            facts=wanted
        )
    result, why_not = registry.plan_result(step.plan.calculation, dict(step.plan.arguments))
    if result is None:
        return [], why_not
    return [(calculated(line.name), line.amount) for line in formatting.lines(result)], ""
