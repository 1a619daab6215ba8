"""What follows from which steps of a list stand: the hazards that are up, and what is in the way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from checklists.engine import hazards
from checklists.engine.hazards import Armed

if TYPE_CHECKING:
    from checklists.engine.checklist import Checklist

# Hazards that are up, each with the keys of the steps that would have to stand.
Up: TypeAlias = list[tuple[Armed, list[str]]]
# A step that has to stand first, by its key, and the hazard that it clears when one is up.
InTheWay: TypeAlias = tuple[str, Armed | None]


@dataclass(frozen=True, slots=True)
class Position:
    """Of one list with certain steps standing. It says steps by their keys, so that lists share it."""

    up: tuple[Armed, ...]
    # The keys of the same.
    hazards: frozenset[str]
    # By the exposures in which they hurt.
    meeting: dict[str, Up]
    # What is in the way of the exposures that were asked for.
    in_the_way: dict[str, tuple[InTheWay, ...]] = field(default_factory=dict)
    # The steps that some exposures ask together, of those that were asked for.
    asked: dict[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)

    @classmethod
    def of(cls, checklist: Checklist) -> Position:
        """Work it out."""
        up = tuple([one for one in checklist.armed if hazards.is_up(one, checklist)])
        return cls(up, frozenset([one.hazard.key for one in up]), _meeting(up, checklist))


def _meeting(up: Iterable[Armed], checklist: Checklist) -> dict[str, Up]:
    found: dict[str, Up] = {}
    for one in up:
        keys = hazards.clearing(one, checklist)
        for exposure in hazards.met(one, checklist):
            found.setdefault(exposure, []).append((one, keys))
    return found
