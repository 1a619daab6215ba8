"""Which steps one button signs: what the pack has done in one go, each with its own sign-off."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.quoting import quoted
from checklists.engine.roles import StepRole
from checklists.engine.words import SIGNAL_WORDS
from shop.jobs import guards
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.jobs.recorded_readings import recorded_readings
from shop.lib.refusals import Refusal

_LONGEST = 1200
# The signal word of what can kill (ANSI Z535).
_KILLS = SIGNAL_WORDS[0]
# More fields than this, with their cautions, fill more than two screens of a phone.
_MOST_READINGS = 4


def beside(job: Job, record: Record, checklist: Checklist, listed: ListedStep) -> list[ListedStep]:
    """Return the further steps of the card that can be signed with this one, in their order.

    Nothing is in their way but steps that come before them on the card. What failed is looked at
    by itself, and so are instructions that would make the card long the first time, a soak that has
    not passed, what a second person signs, and what can kill and leaves no reading behind: nothing
    but its own button asks whether it was done.
    """
    if not _goes_with_others(record, listed) or _in_the_way(job, checklist, listed):
        return []
    return _further(job, record, checklist, listed)


def once_soaked(job: Job, record: Record, checklist: Checklist) -> list[ListedStep]:
    """Return what is signed with the words that a soak ran well: its step, and what asks nothing beside it.

    Empty where the step is not due, or is signed by itself.
    """
    soak = checklist.with_role(StepRole.SOAK)
    if soak is None or soak.stands or soak.answers or not _is_shared(soak):
        return []
    if soak.step.second_person or _in_the_way(job, checklist, soak):
        return []
    return [soak, *_further(job, record, checklist, soak, asking=False)]


def _further(
    job: Job, record: Record, checklist: Checklist, first: ListedStep, *, asking: bool = True
) -> list[ListedStep]:
    """Return what goes with the first step; without `asking` only what asks nothing."""
    card = [first]
    for one in checklist.steps:
        same = one.step.together == first.step.together and one is not first
        if not same or one.stands or not _goes_with_others(record, one):
            continue
        if one.asks_something and not asking:
            continue
        before = _in_the_way(job, checklist, one)
        if {step.key for step in card}.issuperset(before) and _fits(record, [*card, one]):
            card.append(one)
    return card[1:]


def against_sharing(
    job: Job, record: Record, checklist: Checklist, first: str, others: Sequence[str]
) -> list[Refusal]:
    """Reasons against signing these steps with the first: each that its card does not offer."""
    listed = checklist.by_key.get(first)
    left = [one.key for one in beside(job, record, checklist, listed)] if listed else []
    refused = []
    for key in others:
        if key in left:
            left.remove(key)
        else:
            refused.append(Refusal("not-shared", _alone(checklist, key)))
    return refused


def _alone(checklist: Checklist, key: str) -> str:
    listed = checklist.by_key.get(key)
    if listed is None:
        return _("{step} is not on the list of this job; nothing was signed.").format(
            step=quoted(key)
        )
    if listed.stands:
        said = _("{step}: it is signed already; nothing was signed. Load the page again.")
    else:
        said = _("{step}: it is signed on a card of its own; nothing was signed. Open it there.")
    return said.format(step=listed.step.title)


def is_long(steps: list[ListedStep]) -> bool:
    """Whether their instructions fill more than a screen of a phone."""
    return sum(len(one.step.instruction) for one in steps) > _LONGEST


def _fits(record: Record, steps: list[ListedStep]) -> bool:
    """Whether they fill no more than a card: instructions that were all signed before are folded away."""
    known = all(one.key in record.history.signoffs for one in steps)
    few = sum(len(one.readings) for one in steps) <= _MOST_READINGS
    return few and (known or not is_long(steps))


def _goes_with_others(record: Record, listed: ListedStep) -> bool:
    step = listed.step
    kills = step.caution is not None and step.caution.signal_word == _KILLS
    asks = not kills or any(one.required for one in listed.readings)
    ran = step.role is None or bool(recorded_readings(record, listed))
    return _is_shared(listed) and asks and ran and not step.second_person


def _is_shared(listed: ListedStep) -> bool:
    step = listed.step
    return bool(step.together and step.hold and listed.gate) and listed.state != "failed"


def _in_the_way(job: Job, checklist: Checklist, listed: ListedStep) -> list[str]:
    """Return the steps against signing this one; an empty word for what is no step."""
    return [reason.step for reason in guards.against_signing(job, checklist, listed, "pass")]
