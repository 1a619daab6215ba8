"""One walk: hands, a unit after another, and the shop, in a transaction that is rolled back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, ClassVar

import time_machine
from django.db import transaction

from shop.accounts import roles
from tests.twin import harms
from tests.twin.hands import OPENING_TIME, Hands
from tests.twin.moves import Answer, Move
from tests.twin.shop_door import Door

_LINES_OF_A_STORY = 14


@dataclass
class Tally:
    """What came of a walk, or of many; refusals by sort of move and first reason."""

    file: ClassVar[str] = "seeds.jsonl"

    seeds: int = 0
    tried: int = 0
    accepted: int = 0
    # Accepted moves with at least one harm; one move may have several.
    hurting: int = 0
    unknown: int = 0
    harmless: int = 0
    units: int = 0
    released: int = 0
    withdrawn: int = 0
    harms: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    asked_refused: Counter[str] = field(default_factory=Counter)
    stories: list[dict[str, Any]] = field(default_factory=list)

    @property
    def every_refusal(self) -> Counter[str]:
        return self.refused + self.asked_refused

    def add(self, other: Tally) -> None:
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    def as_dict(self) -> dict[str, Any]:
        return dict(vars(self))

    @classmethod
    def from_dict(cls, given: dict[str, Any]) -> Tally:
        counters = {n: Counter(given[n]) for n in ("harms", "refused", "asked_refused")}
        return cls(**{**given, **counters})

    @property
    def bad(self) -> bool:
        return bool(self.harms)

    def __str__(self) -> str:
        return f"{self.accepted:,} accepted, {self.harms.total()} harms"

    def table(self) -> str:
        """The figures as text, most frequent first."""
        refused = self.refused.total()
        lines = [
            f"seeds              {self.seeds:9,}",
            f"moves tried        {self.tried:9,}   (unknown to the shop: {self.unknown:,})",
            f"accepted           {self.accepted:9,}",
            f"moves that hurt    {self.hurting:9,}   {_share(self.hurting, self.accepted)} of accepted moves",
            *_rows(self.harms),
            f"harmless refused   {refused:9,}   {_share(refused, self.harmless)} of harmless moves",
            *_rows(self.refused),
            f"asked and refused  {self.asked_refused.total():9,}   (mains, cover, stage, waiver)",
            *_rows(self.asked_refused, most=6),
            f"units received     {self.units:9,}",
            f"units released     {self.released:9,}   handed back {self.withdrawn:,}",
        ]
        return "\n".join(lines)


def _rows(counter: Counter[str], most: int = 20) -> list[str]:
    return [f"  {count:9,}   {name}" for name, count in counter.most_common(most)]


def _share(part: int, whole: int) -> str:
    return f"{part / whole:.2%}" if whole else "none"


class Walk:
    """Hands at work on one seed."""

    def __init__(
        self, seed: int, hands: Hands, door: Door, clock: Any, tell: Callable[[str], None]
    ) -> None:
        self.seed, self.hands, self.door, self.clock, self.tell = seed, hands, door, clock, tell
        self.tally = Tally(seeds=1)
        self.story: list[str] = []

    def step(self) -> None:
        """One move, or only time."""
        self.clock.move_to(self.hands.clock)
        self.take(self.hands.choose())

    def take(self, move: Move | None) -> None:
        """Try a move, if it is one, and let time pass."""
        hands = self.hands
        if move is not None:
            self.clock.move_to(hands.clock)
            hurts = harms.of(hands.unit, move)
            self._judge(move, self.door.do(move, hands.clock), hurts)
        hands.pass_time()

    def _judge(self, move: Move, answer: Answer, hurts: list[str]) -> None:
        tally = self.tally
        tally.tried += 1
        self._remember(move, answer, hurts)
        if answer.accepted:
            tally.accepted += 1
            self._count_harms(hurts)
            self._count_units(move)
            self.hands.after(move, answer)
        elif answer.said == "unknown":
            tally.unknown += 1
        # What two open jobs say of one unit differs; to be sent to join them hinders nobody.
        asks = move.asks or len(self.hands.jobs) > 1
        if answer.said != "unknown" and not hurts and not asks:
            tally.harmless += 1
        if answer.said == "refused" and not hurts:
            counter = tally.asked_refused if asks else tally.refused
            counter[f"{move.sort}: {_what(move)}{answer.codes[0]}"] += 1

    def _count_harms(self, hurts: list[str]) -> None:
        self.tally.harms.update(hurts)
        self.tally.hurting += bool(hurts)
        told = {harm for story in self.tally.stories for harm in story["harms"]}
        if set(hurts) - told:
            story = {"seed": self.seed, "move": self.tally.tried, "harms": hurts}
            self.tally.stories.append(story | {"moves": self.story[-_LINES_OF_A_STORY:]})

    def _count_units(self, move: Move) -> None:
        self.tally.units += move.sort == "receive"
        self.tally.released += move.data.get("to") == "released"
        self.tally.withdrawn += move.data.get("to") == "withdrawn"

    def _remember(self, move: Move, answer: Answer, hurts: list[str]) -> None:
        unit = self.hands.unit
        state = f"{unit.name} {unit.power} cover {unit.cover} {unit.highest_volts:.0f} V"
        said = answer.said if answer.accepted else f"{answer.said} ({', '.join(answer.codes)})"
        line = f"{self.hands.clock:%d %H:%M} [{state}] {move}: {said}"
        line += f"  HARM {'; '.join(hurts)}" if hurts and answer.accepted else ""
        self.story.append(line)
        self.tell(line)


def _what(move: Move) -> str:
    return f"{move.data['key']}, " if move.verb == "sign" else ""


@contextmanager
def in_a_shop(seed: int, *, follows: float | None, tell: Callable[[str], None]) -> Iterator[Walk]:
    """Give hands at a shop of their own; the database is left as it was."""
    # The clock of the machine goes with that of the hands: what stands may depend on the night.
    with time_machine.travel(OPENING_TIME, tick=False) as clock, transaction.atomic():
        technician = roles.make_user("twin-technician", "technician")
        owner = roles.make_user("twin-owner", "owner")
        door = Door(technician, owner)
        yield Walk(seed, Hands(seed, door, follows=follows), door, clock, tell)
        transaction.set_rollback(True)


def walk(
    seed: int,
    moves: int,
    *,
    follows: float | None = None,
    tell: Callable[[str], None] = lambda line: None,
) -> Tally:
    """Walk one seed for so many moves and return what came of it; the database is left as it was."""
    with in_a_shop(seed, follows=follows, tell=tell) as one:
        turns = 0
        while one.tally.tried < moves and turns < 3 * moves:
            one.step()
            turns += 1
    return one.tally
