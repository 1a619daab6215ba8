"""Where a hazard does its harm, and what is asked before it may be met.

An exposure is asked for when it begins, at each act inside it, and after every event while it
lasts. The shop, the replay of a history and the proof all ask here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.hazards import Armed
from checklists.engine.position import InTheWay, Position, Up
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


@dataclass(frozen=True, slots=True)
class Hindrance:
    """A step that has to stand first, and the hazard that it clears when one is up."""

    step: ListedStep
    hazard: Armed | None = None


def entry_gate(checklist: Checklist | Position) -> str:
    """Return the gate through which mains comes on this unit."""
    return gates(LIMITED, opened=checklist.opened)[0]


def gates_of(exposure: str, checklist: Checklist | Position) -> tuple[str, ...]:
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


def inherited_gates(exposure: str, checklist: Checklist | Position) -> tuple[str, ...]:
    """Return earlier gates whose holds without a hazard, a shop's own, are asked as well."""
    entry = entry_gate(checklist)
    return {FULL: (entry,), LEAVE: (entry, "full-power", "soak")}.get(exposure, ())


def against(exposure: str, checklist: Checklist) -> list[Hindrance]:
    """Return what is in the way of an exposure, each step once; empty when it may be met."""
    found = checklist.against.get(exposure)
    if found is None:
        listed = checklist.by_key
        keys = in_the_way(exposure, checklist.position)
        found = tuple([Hindrance(listed[key], up) for key, up in keys if key in listed])
        checklist.against[exposure] = found
    return list(found)


def asked(exposures: tuple[str, ...], checklist: Checklist) -> list[ListedStep]:
    """Return the steps that are in the way of any of these exposures, in the order of the list."""
    position, listed = checklist.position, checklist.by_key
    if exposures not in position.asked:
        found = {key for exposure in exposures for key, _ in in_the_way(exposure, position)}
        position.asked[exposures] = tuple(sorted(found, key=position.pack.rank.__getitem__))
    return [listed[key] for key in position.asked[exposures] if key in listed]


def in_the_way(exposure: str, position: Position) -> tuple[InTheWay, ...]:
    """Return the same as `against` by the keys of the steps, for every list in this position."""
    if exposure not in position.in_the_way:
        found: dict[str, Armed | None] = dict.fromkeys(_holds(exposure, position))
        found |= {key: one for one, keys in _meeting(exposure, position) for key in keys}
        rank = position.pack.rank
        in_order = sorted(found.items(), key=lambda item: rank[item[0]])
        position.in_the_way[exposure] = tuple(in_order)
    return position.in_the_way[exposure]


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


def _holds(exposure: str, position: Position) -> Iterable[str]:
    for gate in gates_of(exposure, position):
        for step in position.unmet(gate):
            # What is true of the bench does not leave with the unit.
            stays = exposure == LEAVE and step.of_the_bench
            if not (stays or _cleared_otherwise(step.key, position)):
                yield step.key
    for gate in inherited_gates(exposure, position):
        for step in position.unmet(gate):
            if not (position.pack.hazards_cleared_by(step.key) or step.of_the_bench):
                yield step.key


def _cleared_otherwise(key: str, position: Position) -> bool:
    """Whether all that a step clears was cleared by another step that is as good."""
    cleared = position.pack.hazards_cleared_by(key)
    if not cleared or not all(hazard.any_clears for hazard in cleared):
        return False
    return position.hazards.isdisjoint(hazard.key for hazard in cleared)


def by_hazards(exposure: str, checklist: Checklist) -> list[Hindrance]:
    """Return the open steps of every hazard that is up and meets the exposure."""
    listed, up = checklist.by_key, _meeting(exposure, checklist.position)
    return [Hindrance(listed[key], one) for one, keys in up for key in keys if key in listed]


def _meeting(exposure: str, position: Position) -> Up:
    """Return the hazards that are up and meet the exposure.

    A unit goes back as it came; what is known or was done since is cleared, or it is made unusable.
    """
    up = position.meeting.get(exposure, [])
    if exposure != HAND_BACK:
        return up
    if position.pack.step_with_role(StepRole.MADE_UNUSABLE).key in position.standing:
        return []
    return [(one, keys) for one, keys in up if one.raised]


def of_power(power: str, *, cover_off: bool, soaking: bool = False) -> tuple[str, ...]:
    """Return the exposures that last while a unit has this power."""
    if power not in (LIMITED, FULL):
        return ()
    live = (LIVE,) if cover_off else ()
    return (power, *live, *((UNATTENDED,) if soaking else ()))
