"""Followers: hands that do only what the next act says, each unit to its end.

A unit ends released, handed back, or stuck: no end after `MOST_TURNS`. One that is cut short by
the number of moves is only on the way and says nothing, so each goes on until then. Of one in
four an estimate is sent on the way, and every second of those customers says no.
With `wander` the hands first do what comes to mind, so many moves with each unit.
"""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any, ClassVar

from tests.twin.walk import Walk, in_a_shop

# More than twice what the longest of them takes; a turn is an act, or only time.
MOST_TURNS = 250
_LINES_OF_A_STORY = 14
_COUNTERS = ("left", "harms", "refused")


@dataclass
class Ends:
    """What became of units: the acts of hands of each, by its end; the stories of the stuck."""

    file: ClassVar[str] = "followed.jsonl"

    released: list[int] = field(default_factory=list)
    handed_back: list[int] = field(default_factory=list)
    stuck: list[dict[str, Any]] = field(default_factory=list)
    # Whose customer said no while the unit was here.
    declined: int = 0
    # Faults that nobody found in what was released.
    left: Counter[str] = field(default_factory=Counter)
    harms: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)

    @property
    def units(self) -> int:
        return len(self.released) + len(self.handed_back) + len(self.stuck)

    @property
    def bad(self) -> bool:
        return bool(self.harms or self.stuck)

    @property
    def stories(self) -> list[dict[str, Any]]:
        return self.stuck

    def add(self, other: Ends) -> None:
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    def as_dict(self) -> dict[str, Any]:
        return dict(vars(self))

    @classmethod
    def from_dict(cls, given: dict[str, Any]) -> Ends:
        return cls(**{**given, **{name: Counter(given[name]) for name in _COUNTERS}})

    def __str__(self) -> str:
        ended = [len(one) for one in (self.released, self.handed_back, self.stuck)]
        return "{} units: {} released, {} handed back, {} stuck".format(self.units, *ended)

    def table(self) -> str:
        """The figures as text."""
        acts = self.released or [0]
        lines = [
            f"units received {self.units:7,}",
            f"released       {len(self.released):7,}   acts of hands: median "
            f"{statistics.median(acts):g}, most {max(acts)}",
            f"handed back    {len(self.handed_back):7,}   declined {self.declined:,}",
            f"stuck          {len(self.stuck):7,}   no end after {MOST_TURNS} turns",
        ]
        counted = {"faults not found": self.left, "harms": self.harms, "refused": self.refused}
        for title, counter in counted.items():
            lines.append(f"{title:14} {counter.total():7,}")
            lines += [f"  {count:9,}   {name}" for name, count in counter.most_common()]
        return "\n".join(lines)


def followed(
    seed: int, units: int, *, wander: int = 0, tell: Callable[[str], None] = lambda line: None
) -> Ends:
    """Follow so many units of one seed to their ends; the database is left as it was."""
    ends = Ends()
    with in_a_shop(seed, follows=1.0, tell=tell) as walk:
        # Customers have dice of their own, so that those of the units do not change with them.
        chance = Random(seed)
        for _ in range(units):
            _wander(walk, wander)
            _to_its_end(walk, ends, chance)
    ends.harms = walk.tally.harms
    return ends


def _wander(walk: Walk, moves: int) -> None:
    """Take one unit in and do what comes to mind; on the way it may leave by itself, or come back."""
    walk.hands.follows = 0.0
    for _ in range(moves):
        walk.step()
    walk.hands.follows = 1.0


def _to_its_end(walk: Walk, ends: Ends, chance: Random) -> None:
    """Follow the unit that is here, or the next; what is stuck is set aside for the one after."""
    hands, tally = walk.hands, walk.tally
    before = tally.every_refusal
    walk.step()
    began, released = tally.tried, tally.released
    asks_at, hands.customer_says = _customer(chance)
    for turn in range(MOST_TURNS):
        if not hands.jobs:
            break
        if turn == asks_at:
            walk.take(hands.estimate())
            ends.declined += hands.customer_says == "no"
        else:
            walk.step()
    acts = tally.tried - began
    ends.refused += tally.every_refusal - before
    if hands.jobs:
        ends.stuck.append(_story(walk))
        hands.leave_it()
    elif tally.released > released:
        ends.released.append(acts)
        ends.left.update(hands.unit.faults)
    else:
        ends.handed_back.append(acts)


def _customer(chance: Random) -> tuple[int | None, str]:
    """Return after how many turns an estimate is sent, if one is, and what the customer says."""
    return (chance.randrange(60) if chance.random() < 0.25 else None), chance.choice(("yes", "no"))


def _story(walk: Walk) -> dict[str, Any]:
    unit, asked = walk.hands.unit, walk.door.next_act(walk.hands.jobs[-1]) or {}
    return {
        "seed": walk.seed,
        "move": walk.tally.tried,
        "harms": [f"stuck at: {asked.get('title')}", f"true faults: {sorted(unit.faults)}"],
        "moves": walk.story[-_LINES_OF_A_STORY:],
    }
