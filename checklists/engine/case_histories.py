"""Histories beside a pack that must be refused, or accepted: `hazards*.cases.toml`.

The last event of a case is refused, every one before it is accepted; with `allowed = true` the
last is accepted too. They are written from physics, so a case that comes out otherwise says that
the table is wrong, or the case.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from checklists.engine import honest
from checklists.engine.cases import HISTORIES
from checklists.engine.happenings import HistoryError
from checklists.engine.honest import Honest
from checklists.engine.pack import Pack
from checklists.engine.replay import Told, in_words, replay
from checklists.engine.strict_tables import Table, TableError, taken


class _CaseTable(Table):
    name: str
    physics: str
    allowed: bool = False
    # One of `[units]` of the file, on top of which come the facts of the case.
    unit: str = ""
    facts: dict[str, Any] = {}
    events: list[Any]


@dataclass(frozen=True, slots=True)
class Case:
    """One history and how it ends."""

    name: str
    file: str
    allowed: bool
    history: dict[str, Any]

    @property
    def label(self) -> str:
        """File and name, as a sentence about it begins."""
        return f"{self.file}: {self.name}:"

    def walked(self, pack: Pack, hands: Honest) -> list[Told]:
        """Return what the pack makes of it."""
        return replay(pack, self.history, hands)


def read(folder: Path) -> list[Case]:
    """Return the cases beside a pack; HistoryError for a file that cannot be read."""
    return [case for file in sorted(folder.glob(HISTORIES)) for case in _cases(file)]


def _cases(file: Path) -> Iterator[Case]:
    try:
        content = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise HistoryError([f"{file.name}: not readable as TOML: {error}."]) from None
    for place, table in enumerate(content.get("case", []), 1):
        try:
            case = taken(_CaseTable, table)
        except TableError as error:
            raise HistoryError(
                [f"{file.name}: case {place}: {p}" for p in error.problems]
            ) from None
        facts = {**content.get("units", {}).get(case.unit, {}), **case.facts}
        history = {"facts": facts, "events": case.events}
        yield Case(case.name, file.name, case.allowed, history)


def hands_of(folder: Path) -> Honest:
    """Return the honest hands of a pack's folder; HistoryError names a fault."""
    try:
        return honest.read(folder)
    except TableError as error:
        raise HistoryError([f"{honest.FILE}: {problem}" for problem in error.problems]) from None


def problems(pack: Pack, cases: Iterable[Case], hands: Honest) -> Iterator[str]:
    """Yield a sentence for each case that comes out otherwise."""
    for case in cases:
        yield from judge(pack, case, hands)


def judge(pack: Pack, case: Case, hands: Honest) -> list[str]:
    """Return a sentence for each event of a case that comes out otherwise."""
    try:
        walked = case.walked(pack, hands)
    except HistoryError as error:
        return [f"{case.label} {problem}" for problem in error.problems]
    return judge_walked(case, walked)


def judge_walked(case: Case, walked: list[Told]) -> list[str]:
    """Return a sentence for each event of a walked case that comes out otherwise."""
    label = case.label
    accepted = walked if case.allowed else walked[:-1]
    found = [
        f"{label} event {place} ({told.event.sentence()}) is refused: {in_words(told.refused[0])}"
        for place, told in enumerate(accepted, 1)
        if told.refused
    ]
    if not case.allowed and walked and not walked[-1].refused:
        found.append(f"{label} the last event ({walked[-1].event.sentence()}) is accepted.")
    return found
