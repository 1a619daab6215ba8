"""What whoever signs a step tells beside it: facts that the step cannot be done without seeing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from django.utils.translation import gettext as _

from checklists.engine import validity
from checklists.engine.checklist import ListedStep
from checklists.engine.quoting import quoted
from checklists.engine.vocabulary import VOCABULARY, FactError, accept_one, expected
from shop.jobs.commands.transaction import JobTransaction
from shop.jobs.events.fact_recorded import FactRecorded
from shop.jobs.facts import label
from shop.lib.refusals import BadInput

Answers = Sequence[tuple[str, object]]
_ANSWERED = "By what was answered this is not asked of this unit."


def taken(step: ListedStep, given: Answers, *, needed: bool) -> list[FactRecorded]:
    """Return the answers (fact, value) as events; BadInput names each that is wrong or missing.

    `needed`: a pass tells every fact that the step asks for and that is not recorded yet. An
    empty list is no answer: nothing was ticked.
    """
    problems = [*_not_asked(step, given), *_twice(given)]
    events: list[FactRecorded] = []
    for name, value in given:
        if name in step.step.answers and value != []:
            try:
                events.append(FactRecorded(name=name, value=accept_one(name, value)))
            except FactError as error:
                problems += error.problems
    told = {name for name, value in given if value != []}
    absent = [answer.fact for answer in step.answers if answer.fact not in told]
    problems += [(name, _missing(name)) for name in absent if needed]
    if problems:
        raise BadInput(problems)
    return events


def _not_asked(step: ListedStep, given: Answers) -> list[tuple[str, str]]:
    wanted = ", ".join(step.step.answers) or "no fact"
    return [
        (
            name,
            _("{name} is not asked here; this step asks for {wanted}.").format(
                name=quoted(name), wanted=wanted
            ),
        )
        for name, _value in given
        if name not in step.step.answers
    ]


def _twice(given: Answers) -> list[tuple[str, str]]:
    counts = Counter(name for name, _value in given)
    return [
        (name, _("{name} is answered twice.").format(name=quoted(name)))
        for name, n in counts.items()
        if n > 1
    ]


def _missing(name: str) -> str:
    fact = VOCABULARY[name]
    wanted = "yes or no" if fact.kind == "bool" else expected(fact)
    return _("{fact} is missing; this step cannot be passed without it: {wanted}.").format(
        fact=label(fact), wanted=wanted
    )


def write(tx: JobTransaction, answers: Sequence[FactRecorded]) -> None:
    """Record what is new, each as a row of its own that comes before the sign-off."""
    for answer in answers:
        if tx.record.facts.get(answer.name) != answer.value:
            tx.write(answer)


def not_asked(step: ListedStep) -> ListedStep:
    """Return a step that the answers took off the list, and that nobody signed."""
    not_applicable = validity.Validity(validity.NOT_APPLICABLE, _ANSWERED)
    return replace(step, validity=not_applicable, answered=True)
