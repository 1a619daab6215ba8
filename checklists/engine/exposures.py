"""Where a hazard does its harm, and what is asked before it may be met.

An exposure is asked for when it begins, at each act inside it, and after every event while it
lasts. The shop, the replay of a history and the proof all ask here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.hazards import Armed
from checklists.engine.roles import StepRole
from checklists.engine.words import (
    COVER_OFF,
    FULL,
    HAND_BACK,
    HANDS,
    LEAVE,
    LIMITED,
    LIVE,
    UNATTENDED,
)

# A hazard that is up, and the steps that would have to stand.
_Up = tuple[Armed, list[ListedStep]]


@dataclass(frozen=True, slots=True)
class Hindrance:
    """A step that has to stand first, and the hazard that it clears when one is up."""

    step: ListedStep
    hazard: Armed | None = None


def entry_gate(checklist: Checklist) -> str:
    """Return the gate through which mains comes on this unit."""
    return gates(LIMITED, opened=checklist.opened)[0]


def gates_of(exposure: str, checklist: Checklist) -> tuple[str, ...]:
    """Return the gates whose hold steps are asked when the exposure begins."""
    return gates(exposure, opened=checklist.opened)


def gates(exposure: str, *, opened: bool) -> tuple[str, ...]:
    """Return the gates of an exposure for a unit that has been opened or worked on, or not."""
    return {
        COVER_OFF: ("open-up",),
        HANDS: ("hands-in",),
        LIMITED: ("limited-power" if opened else "first-power",),
        FULL: ("full-power",),
        UNATTENDED: ("soak",),
        LEAVE: ("release",),
        HAND_BACK: ("hand-back",),
    }.get(exposure, ())


def inherited_gates(exposure: str, checklist: Checklist) -> tuple[str, ...]:
    """Return earlier gates whose holds without a hazard, a shop's own, are asked as well."""
    entry = entry_gate(checklist)
    return {FULL: (entry,), LEAVE: (entry, "full-power", "soak")}.get(exposure, ())


def against(exposure: str, checklist: Checklist) -> list[Hindrance]:
    """Return what is in the way of an exposure, each step once; empty when it may be met."""
    if exposure not in checklist.against:
        checklist.against[exposure] = tuple(_against(exposure, checklist))
    return list(checklist.against[exposure])


def _against(exposure: str, checklist: Checklist) -> list[Hindrance]:
    found = {h.step.key: h for h in _holds(exposure, checklist)}
    found |= {h.step.key: h for h in by_hazards(exposure, checklist)}
    return sorted(found.values(), key=lambda h: checklist.pack.rank[h.step.key])


def lasting(exposures: Iterable[str], checklist: Checklist) -> list[Hindrance]:
    """Return what stands against exposures that last, after an event.

    A soak that runs is not asked for its papers again, only for what is dangerous.
    """
    found: dict[str, Hindrance] = {}
    for exposure in exposures:
        asked = _dangerous if exposure == UNATTENDED else against
        found |= {h.step.key: h for h in asked(exposure, checklist)}
    return list(found.values())


def _dangerous(exposure: str, checklist: Checklist) -> list[Hindrance]:
    """Leave out what follows from the record alone: a part nobody agreed to stops no soak."""
    found = by_hazards(exposure, checklist)
    return [h for h in found if h.hazard is None or not h.hazard.hazard.follows_record]


def _holds(exposure: str, checklist: Checklist) -> Iterable[Hindrance]:
    for gate in gates_of(exposure, checklist):
        for step in checklist.unmet(gate):
            # What is true of the bench does not leave with the unit.
            stays = exposure == LEAVE and step.step.of_the_bench
            if not (stays or _cleared_otherwise(step, checklist)):
                yield Hindrance(step)
    for gate in inherited_gates(exposure, checklist):
        for step in checklist.unmet(gate):
            if not (checklist.pack.hazards_cleared_by(step.key) or step.step.of_the_bench):
                yield Hindrance(step)


def _cleared_otherwise(step: ListedStep, checklist: Checklist) -> bool:
    """Whether all that the step clears was cleared by another step that is as good."""
    cleared = checklist.pack.hazards_cleared_by(step.key)
    if not cleared or not all(hazard.any_clears for hazard in cleared):
        return False
    up = {one.hazard for one in checklist.up}
    return not any(hazard in up for hazard in cleared)


def by_hazards(exposure: str, checklist: Checklist) -> list[Hindrance]:
    """Return the open steps of every hazard that is up and meets the exposure."""
    up = checklist.meeting.get(exposure, [])
    if exposure == HAND_BACK:
        up = _not_made_unusable(up, checklist)
    return [Hindrance(step, one) for one, steps in up for step in steps]


def _not_made_unusable(up: list[_Up], checklist: Checklist) -> list[_Up]:
    """A unit goes back as it came; what is known or was done since is cleared, or it is made unusable."""
    unusable = checklist.with_role(StepRole.MADE_UNUSABLE)
    if unusable is not None and unusable.stands:
        return []
    return [(one, steps) for one, steps in up if one.raised]


def of_power(power: str, *, cover_off: bool, soaking: bool = False) -> tuple[str, ...]:
    """Return the exposures that last while a unit has this power."""
    if power not in (LIMITED, FULL):
        return ()
    live = (LIVE,) if cover_off else ()
    return (power, *live, *((UNATTENDED,) if soaking else ()))
