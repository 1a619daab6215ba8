"""What is in the way of an act at the bench: mains, cover, a hand inside, a soak, leaving.

Pure: a state, a checklist, and what is to be done. Stages, estimates and parts are the shop's.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from checklists.engine import doing, exposures
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.doing import Reason, State, against_exposure, unplug
from checklists.engine.history import History
from checklists.engine.roles import StepRole
from checklists.engine.words import (
    COVER_OFF,
    FULL,
    HAND_BACK,
    HANDS,
    ISOLATED,
    LEAVE,
    LIMITED,
    UNATTENDED,
)

# What can be reached without taking the cover off: common practice.
OUTSIDE_WORK = frozenset(
    {
        "fuse-replaced",
        "belt-replaced",
        "lithium-cell-replaced",
        "valves-replaced",
        "controls-cleaned",
        "mains-wiring-changed",
        "firmware-updated",
        "idler-replaced",
        "pinch-roller-replaced",
        "head-aligned",
        "cleaned",
        "adjusted",
        "other",
    }
)
# Done under mains, with the cover on, and no hand inside.
POWERED_WORK = frozenset({"firmware-updated", "head-aligned", "adjusted"})
COVER_IS_ON = (
    "The cover is on. Take it off first; or say that it was done from outside, on a board that is"
    " out of the unit, before this job, or earlier and told late."
)


def energised(what: str) -> Reason:
    """Return the reason against something that is done with mains off: 'the cover comes off'."""
    return Reason("energised", f"Mains is on. Take it off before {what}.")


def _mains_off(state: State, what: str) -> list[Reason]:
    return [*unplug(state), *([energised(what)] if state.energised else [])]


def against_power(state: State, checklist: Checklist, to: str) -> list[Reason]:
    """Reasons against limited or full power. Taking mains off has none."""
    reasons = unplug(state)
    if to == FULL and state.power == ISOLATED and not doing.tried(checklist):
        sentence = "Mains comes through the limiter first: limited, then full."
        reasons.append(Reason("limiter-first", sentence))
    if to == LIMITED and state.power == FULL:
        sentence = "Take mains off before the limiter goes back in."
        reasons.append(Reason("isolate-first", sentence))
    return reasons + against_all(exposures.of_power(to, cover_off=state.open), checklist)


def against_all(met: Iterable[str], checklist: Checklist) -> list[Reason]:
    """Reasons against several exposures at once, each reason once."""
    found: list[Reason] = []
    for exposure in met:
        found += [r for r in against_exposure(exposure, checklist) if r not in found]
    return found


def against_waiver(listed: ListedStep, history: History, look: int) -> list[Reason]:
    """Reasons against a waiver that rests on row `look`: after a fail that has to be a new look."""
    if listed.key not in history.unproved or look in history.new_looks(listed.key):
        return []
    sentence = (
        f"{listed.step.title}: it failed, so a waiver needs a new look. Take a reading, record a"
        " fact or sign the step again as you read it now, and name that row."
    )
    return [Reason("no-new-look", sentence)]


def against_cover_off(state: State, checklist: Checklist) -> list[Reason]:
    """Reasons against taking the cover off."""
    return [*_mains_off(state, "the cover comes off"), *against_exposure(COVER_OFF, checklist)]


def against_hands(state: State, checklist: Checklist) -> list[Reason]:
    """Reasons against a hand in the unit: work, fitting, steps that are done inside."""
    reasons = _mains_off(state, "a hand goes in")
    if not state.open:
        reasons.append(Reason("wrong-cover", COVER_IS_ON))
    return reasons + against_exposure(HANDS, checklist)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Work or fitting that is told, and its marks. `kind` is empty for a part."""

    kind: str = ""
    # Told late, or done before this job: no hand goes in for it now.
    done_already: bool = False
    from_outside: bool = False
    board_out: bool = False

    @property
    def by_hand(self) -> bool:
        """Whether a hand goes into the unit for it now."""
        return not (self.done_already or self.from_outside or self.board_out)


def against_work(state: State, checklist: Checklist, work: Work) -> list[Reason]:
    """Reasons against work and fitting, by its marks; what was done already is told at any time.

    Work that cannot be done from outside is never taken as such, late or not: it would raise
    nothing inside.
    """
    if work.from_outside and work.kind and work.kind not in OUTSIDE_WORK:
        spoken = work.kind.replace("-", " ").capitalize()
        sentence = f"{spoken}: this cannot be done from outside; take the cover off."
        return [Reason("inside", sentence)]
    if work.by_hand:
        return against_hands(state, checklist)
    if work.done_already or (work.from_outside and work.kind in POWERED_WORK):
        return []
    return _mains_off(state, "work is done")


def against_shelf(state: State) -> list[Reason]:
    """Reasons against the unit waiting on the shelf."""
    return _mains_off(state, "the unit goes on the shelf")


def against_reassembled(state: State) -> list[Reason]:
    """Reasons against calling the unit whole: the next hand takes it as closed and plugs it in."""
    sentence = "The cover is off. Put it on; then the unit is reassembled."
    return [Reason("cover-off", sentence)] if state.open else []


def against_cover_on(state: State) -> list[Reason]:
    """Reasons against putting the cover on: a lid slides past bare live terminals."""
    return _mains_off(state, "the cover goes on")


def against_soak(state: State, checklist: Checklist) -> list[Reason]:
    """Reasons against letting the unit run alone."""
    reasons = []
    if state.power != FULL:
        reasons.append(Reason("not-full", f"A soak runs on full power; power is {state.power}."))
    if state.open:
        reasons.append(Reason("cover-off", "A soak runs with the cover on."))
    return reasons + against_exposure(UNATTENDED, checklist)


def against_release(state: State, checklist: Checklist) -> list[Reason]:
    """Reasons against the unit leaving as repaired."""
    reasons = _mains_off(state, "the unit leaves")
    if state.open:
        reasons.append(Reason("cover-off", "The cover is off; a unit leaves closed."))
    return reasons + against_exposure(LEAVE, checklist)


def against_hand_back(state: State, checklist: Checklist) -> list[Reason]:
    """Reasons against the unit leaving unrepaired."""
    reasons = _mains_off(state, "the unit leaves")
    unusable = checklist.with_role(StepRole.MADE_UNUSABLE)
    if state.open and not (unusable and unusable.stands):
        sentence = "The cover is off. Close the unit, or make it unusable and sign that."
        reasons.append(Reason("cover-off", sentence))
    return reasons + against_exposure(HAND_BACK, checklist)
