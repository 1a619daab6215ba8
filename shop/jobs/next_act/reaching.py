"""The way to a move that the guards refuse: what removes the first reason against it.

The reasons are those of the guards; nothing of what they ask is repeated here.
"""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from checklists.engine.checklist import ListedStep
from checklists.engine.words import FULL, ISOLATED, LIMITED
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act
from shop.jobs.next_act.situation import Move, Situation
from shop.lib.refusals import Refusal

# Reasons that another move removes, whichever move they stand against.
_BY_MOVE: dict[str, Move] = {
    "unplug-first": ("power", ISOLATED),
    "energised": ("power", ISOLATED),
    "isolate-first": ("power", ISOLATED),
    "limiter-first": ("power", LIMITED),
    "not-full": ("power", FULL),
    "cover-off": ("cover", "on"),
}
# Not a way that can be gone further: somebody has to look.
_FIRST, _NOW, _OTHER_STATE, _AT_THE_END = 0, 1, 3, 9


def toward(at: Situation, move: Move, why: str, trail: frozenset[Move] = frozenset()) -> Act | None:
    """Return the act that makes a move, or the first one on the way to it; None when no way is known."""
    if move in trail:
        return None
    reasons = at.against(move)
    if not reasons:
        return at.act(_usually_first(at, move), why)
    closes = any(reason.code == "cover-off" for reason in reasons)
    for reason in sorted(reasons, key=lambda one: _turn(at, one, closes=closes)):
        act = _remove(at, move, reason, why, trail | {move})
        if act is not None:
            return act
    return None


def _usually_first(at: Situation, move: Move) -> Move:
    """Return what usually comes before a step, when it is open and can be done as things are."""
    if move[0] != "sign":
        return move
    for key in at.checklist.by_key[move[1]].step.after:
        before = at.checklist.by_key.get(key)
        due = before is not None and before.step.hold and not before.stands
        due = due and not (at.declined and before not in at.to_do)
        if due and not at.against(("sign", key)):
            return _usually_first(at, ("sign", key))
    return move


def _turn(at: Situation, reason: Refusal, *, closes: bool) -> int:
    """What fails comes first, then what can be signed as things are; the set-up of the bench last.

    What is true of the bench ends with the cover and with work, so it is signed when the rest is.
    Where the move closes the unit (`closes`), what closing ends is signed once, on the closed unit.
    """
    if not reason.step:
        return _OTHER_STATE - 1 if reason.code == "cover-off" else _FIRST
    step = at.checklist.by_key[reason.step]
    if at.is_unmended(step):
        return _FIRST
    if step.step.of_the_bench:
        return _AT_THE_END
    if closes and at.open and ends_with_the_cover(step):
        return _OTHER_STATE
    return _NOW if not at.against(("sign", step.key)) else _OTHER_STATE


def ends_with_the_cover(step: ListedStep) -> bool:
    """Whether putting the cover on ends its sign-off, and it can be done on the closed unit."""
    ends = any(one.event_type == "cover_fitted" for one in step.step.invalidated_by)
    return ends and step.step.needs_cover != "off"


def _remove(
    at: Situation, move: Move, reason: Refusal, why: str, trail: frozenset[Move]
) -> Act | None:
    """Return the first act that removes one reason against a move."""
    if reason.step:
        return toward(at, ("sign", reason.step), why, trail)
    if reason.code in _BY_MOVE:
        return toward(at, _BY_MOVE[reason.code], why, trail)
    if reason.code == "two-jobs":
        return join(at)
    if reason.code in ("wrong-power", "wrong-cover"):
        return toward(at, _state_for(at, move, reason.code), _why_state(at, move, why), trail)
    return None


def _state_for(at: Situation, move: Move, code: str) -> Move:
    """Return the move of power or cover that a step, or a hand inside, needs."""
    step = at.checklist.by_key[move[1]].step if move[0] == "sign" else None
    if code == "wrong-cover":
        return "cover", (step.needs_cover if step else "") or "off"
    powers = step.needs_power if step else (ISOLATED,)
    return "power", LIMITED if LIMITED in powers else powers[0]


def _why_state(at: Situation, move: Move, why: str) -> str:
    """Say for which step the unit is brought into another state."""
    return (
        _("For: {title}.").format(title=at.checklist.by_key[move[1]].step.title)
        if move[0] == "sign"
        else why
    )


def join(at: Situation) -> Act:
    """Go where two open jobs of one unit become one."""
    numbers = " and ".join(map(str, at.job.twins))
    why = _(
        "The unit has another open job, {numbers}. Mains and leaving wait until they are one."
    ).format(numbers=numbers)
    return acts.open_page("join", gettext_noop("Join the two jobs of this unit"), why)
