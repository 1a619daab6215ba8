"""What follows from which steps of a list stand: the hazards that are up, and what is in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from checklists.engine import hazards
from checklists.engine.hazards import Armed
from checklists.engine.pack import Step

if TYPE_CHECKING:
    from checklists.engine.derivation_cache import Listing

# Hazards that are up, each with the keys of the steps that would have to stand.
Up: TypeAlias = list[tuple[Armed, list[str]]]
# A step that has to stand first, by its key, and the hazard that it clears when one is up.
InTheWay: TypeAlias = tuple[str, Armed | None]


class Position:
    """Of a whole list with certain steps standing, whichever of its steps somebody looks at.

    It says steps by their keys, so that the lists of all units that are alike share it.
    """

    def __init__(self, listing: Listing, standing: frozenset[str]) -> None:
        self.standing, self.failed, self.opened = standing, listing.failed, listing.opened
        self.pack, self.keys = listing.unit.cache.pack, frozenset(listing.keys())
        self._holds = listing.holds
        self.up = tuple([one for one in listing.hazards if hazards.is_up(one, self)])
        # The keys of the same.
        self.hazards = frozenset([one.hazard.key for one in self.up])
        # By the exposures in which they hurt.
        self.meeting: dict[str, Up] = self._meeting()
        # What is in the way of the exposures that were asked for.
        self.in_the_way: dict[str, tuple[InTheWay, ...]] = {}
        # The steps that some exposures ask together, of those that were asked for.
        self.asked: dict[tuple[str, ...], tuple[str, ...]] = {}

    def unmet(self, gate: str) -> list[Step]:
        """Return the hold steps that keep a gate shut."""
        open_ones = (key for key in self._holds.get(gate, ()) if key not in self.standing)
        return [self.pack.steps[key] for key in open_ones]

    def _meeting(self) -> dict[str, Up]:
        found: dict[str, Up] = {}
        for one in self.up:
            keys = hazards.clearing(one, self)
            for exposure in hazards.met(one, self):
                found.setdefault(exposure, []).append((one, keys))
        return found
