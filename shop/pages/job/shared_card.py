"""What the pack has done in one go: several steps on one card, each with its own sign-off."""

from __future__ import annotations

from django.http import QueryDict

from checklists.engine.checklist import ListedStep
from checklists.engine.words import SIGNAL_WORDS
from shop.jobs import guards
from shop.jobs.queries import Traveller

# Before the names of the fields of a further step; the first one has its names plain.
_PARTS = ":"
_LONGEST = 1200
# The signal word of what can kill (ANSI Z535).
_KILLS = SIGNAL_WORDS[0]
# More fields than this, with their cautions, fill more than two screens of a phone.
_MOST_READINGS = 4


def beside(traveller: Traveller, listed: ListedStep) -> list[ListedStep]:
    """Return the further steps of the card that can be signed with this one, in their order.

    They stand at the same gate, and nothing is in their way but steps that come before them on
    the card. What failed is looked at by itself, and so are long instructions the first time, and
    what can kill and leaves no reading behind: nothing but its own button asks whether it was done.
    """
    if not _goes_with_others(listed) or _in_the_way(traveller, listed):
        return []
    on_it = [listed.key]
    found: list[ListedStep] = []
    for one in traveller.checklist.steps:
        same = one.step.together == listed.step.together and one.gate == listed.gate
        if not same or one.key in on_it or one.stands or not _goes_with_others(one):
            continue
        if all(key in on_it for key in _in_the_way(traveller, one)) and _fits(
            [listed, *found, one]
        ):
            found.append(one)
            on_it.append(one.key)
    if is_long([listed, *found]) and not _known(traveller, [listed, *found]):
        return []
    return found


def _fits(steps: list[ListedStep]) -> bool:
    return sum(len(one.readings) for one in steps) <= _MOST_READINGS


def is_long(steps: list[ListedStep]) -> bool:
    """Whether their instructions fill more than a screen of a phone."""
    return sum(len(one.step.instruction) for one in steps) > _LONGEST


def _known(traveller: Traveller, steps: list[ListedStep]) -> bool:
    """Whether all were signed on this job before: then their instructions can be folded away."""
    return all(one.key in traveller.record.history.signoffs for one in steps)


def _goes_with_others(listed: ListedStep) -> bool:
    step = listed.step
    shared = bool(step.together and step.hold and listed.gate) and listed.state != "failed"
    kills = step.caution is not None and step.caution.signal_word == _KILLS
    return shared and (not kills or any(one.required for one in listed.readings))


def _in_the_way(traveller: Traveller, listed: ListedStep) -> list[str]:
    """Return the steps against signing this one; an empty word for what is no step."""
    reasons = guards.against_signing(traveller.job, traveller.checklist, listed, "pass")
    return [reason.step for reason in reasons]


def before(key: str) -> str:
    """Return what stands before the names of the fields of a further step."""
    return f"{key}{_PARTS}"


def own(posted: QueryDict, key: str) -> QueryDict:
    """Return what was typed for a further step under plain names, as its own card sends it."""
    mine = QueryDict(mutable=True)
    for name, values in posted.lists():
        first, parted, plain = name.partition(_PARTS)
        if parted and first == key:
            mine.setlist(plain, values)
        elif parted:
            mine.setlist(name, values)
    if any(name for name in mine if _PARTS not in name):
        mine["step"] = key
    mine["seen"] = posted.get("seen", "")
    return mine
