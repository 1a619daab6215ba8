"""What of a unit or its set-up can hurt: which hazards are up, and what they meet.

A hazard is up from the event that raised it until the steps that clear it stand. Facts narrow
what is possible only for a hazard that no event raised: what was once raised falls by its step.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import Protocol

from checklists.engine.cel import Condition
from checklists.engine.history import Trigger
from checklists.engine.vocabulary import VOCABULARY


# Compared by identity: there is one of each in a pack.
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hazard:
    """One line of the table.

    It is up on arrival or by an event of `raised_by`, while it is possible; it falls when all
    (or, with `any_clears`, one) of the steps stand, and every one of `also`, a shop's own steps,
    that is on the list. `meets` are the exposures in which it hurts, `meets_failed` those in which
    it hurts as well once a step that clears it has failed: then it is no doubt, but known.
    """

    key: str
    title: str
    because: str
    source: str
    file: str
    possible: Condition
    on_arrival: bool
    raised_by: tuple[Trigger, ...]
    cleared_by: tuple[str, ...]
    any_clears: bool
    meets: frozenset[str]
    meets_failed: frozenset[str] = frozenset()
    also: tuple[str, ...] = ()

    @property
    def follows_record(self) -> bool:
        """Whether what is possible is read off the job's own record, such as an agreement.

        That is no guess of anybody, so such a hazard falls with it and need not wait for a step.
        Where something that a person typed counts as well, it waits.
        """
        names = self.possible.names
        return bool(names) and all("." in name and VOCABULARY[name].computed for name in names)

    @property
    def listed_steps(self) -> tuple[str, ...]:
        """The steps that are on the list while it is up: one is enough where any clears."""
        return self.cleared_by[:1] if self.any_clears else self.cleared_by


# Compared by identity as well: of each hazard there is one raised, one certain, one doubtful.
@dataclass(frozen=True, slots=True, eq=False)
class Armed:
    """A hazard that this unit has, up or cleared, and the event that raised it last, if any did.

    `certain`: it is plainly possible or an event raised it; else something is not known.
    """

    hazard: Hazard
    raised: bool
    certain: bool


class Standing(Protocol):
    """Which steps are on a list, which of them stand, and whose last word is a fail."""

    @property
    def keys(self) -> Container[str]:
        """The steps that are on it."""

    @property
    def standing(self) -> frozenset[str]:
        """The steps that stand."""

    @property
    def failed(self) -> frozenset[str]:
        """The steps that failed last."""


def is_up(one: Armed, steps: Standing) -> bool:
    """Tell whether the steps that clear it do not stand; a step that is not listed clears nothing."""
    hazard, stands = one.hazard, steps.standing
    if hazard.any_clears:
        cleared = not stands.isdisjoint(hazard.cleared_by)
        cleared = cleared and steps.failed.isdisjoint(hazard.cleared_by)
    else:
        cleared = stands.issuperset(hazard.cleared_by)
    return not cleared or any(key in steps.keys and key not in stands for key in hazard.also)


def met(one: Armed, steps: Standing) -> frozenset[str]:
    """Return the exposures in which it hurts as it stands: more once a clearing step has failed."""
    if steps.failed.isdisjoint(one.hazard.cleared_by):
        return one.hazard.meets
    return one.hazard.meets | one.hazard.meets_failed


def clearing(one: Armed, steps: Standing) -> list[str]:
    """Return the keys of the steps on the list that would have to stand and do not."""
    listed, stands = steps.keys, steps.standing
    keys = (*one.hazard.cleared_by, *one.hazard.also)
    return [key for key in keys if key in listed and key not in stands]
