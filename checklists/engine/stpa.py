"""What can go wrong at the bench: the table beside a pack, `stpa.toml`, read and checked.

Every action at the bench is asked in four ways how it could be unsafe. Each row is answered by a
history in `replays/` whose last event is refused, or says openly that nothing answers it.
Method: N. Leveson and J. Thomas, STPA Handbook, March 2018 (from memory).
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import Field, model_validator

from checklists.engine import case_histories
from checklists.engine.case_histories import Case
from checklists.engine.doing import Reason
from checklists.engine.honest import Honest
from checklists.engine.pack import Pack
from checklists.engine.reading_packs import ANALYSIS as FILE
from checklists.engine.strict_tables import Table, TableError, one_of, taken

REPLAYS = "replays"
WAYS = {
    "not-given": "Not given when it is needed",
    "given": "Given when it hurts",
    "timing": "Too early, too late, or in the wrong order",
    "duration": "Stopped too soon, or held too long",
}

Words = Annotated[str, Field(min_length=1)]
T = TypeVar("T", bound=Table)


class StpaError(ValueError):
    """A table that cannot be read; `problems` holds one sentence for each fault."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


class Loss(Table):
    """What must not be lost."""

    key: Words
    says: Words


class Action(Table):
    """Something that a person does to a unit or to its record."""

    key: Words
    title: Words


class Row(Table):
    """One way in which an action is unsafe: what happens, its causes, and the answer.

    `by` is a step, a hazard, or the code of a reason among those for which the last event of the
    replay is refused: a history that is refused for something else answers nothing.
    """

    id: Words
    action: Words
    way: Annotated[str, one_of(WAYS)]
    happens: Words
    losses: Annotated[list[str], Field(min_length=1)]
    believes: Words
    record: Words
    truth: Words
    replay: str = ""
    by: str = ""
    open: str = ""

    @model_validator(mode="after")
    def _one_answer(self) -> Row:
        if bool(self.replay) == bool(self.open):
            which = "both replay and open" if self.replay else "neither replay nor open"
            raise ValueError(f"has {which}; one of them is the answer.")
        if bool(self.replay) != bool(self.by):
            raise ValueError("needs by beside a replay, and only there.")
        return self


@dataclass(frozen=True, slots=True)
class Analysis:
    """The whole table, in the order of its file."""

    losses: tuple[Loss, ...]
    actions: tuple[Action, ...]
    rows: tuple[Row, ...]

    @property
    def replays(self) -> frozenset[str]:
        """The names of the histories that answer rows."""
        return frozenset(row.replay for row in self.rows if row.replay)

    @property
    def left_open(self) -> int:
        """How many rows nothing in the tool answers."""
        return sum(bool(row.open) for row in self.rows)


def read(folder: Path) -> Analysis | None:
    """Read the table beside a pack; None where there is none. StpaError lists every fault."""
    file = folder / FILE
    if not file.exists():
        return None
    try:
        content = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise StpaError([f"{FILE}: not readable as TOML: {error}."]) from None
    problems = [
        f"{FILE}: [{stray}] is not known; use loss, action, row."
        for stray in sorted(content.keys() - {"loss", "action", "row"})
    ]
    analysis = Analysis(
        tuple(_tables(content, "loss", Loss, problems)),
        tuple(_tables(content, "action", Action, problems)),
        tuple(_tables(content, "row", Row, problems)),
    )
    problems += _structure(analysis)
    if problems:
        raise StpaError(problems)
    return analysis


def _tables(content: dict[str, Any], kind: str, model: type[T], problems: list[str]) -> list[T]:
    tables = content.get(kind, [])
    if not isinstance(tables, list):
        problems.append(f"{FILE}: {kind} is no list; write [[{kind}]].")
        return []
    found = []
    for place, table in enumerate(tables, 1):
        try:
            found.append(taken(model, table))
        except TableError as error:
            problems += [f"{FILE}: {_label(kind, place, table)}: {p}" for p in error.problems]
    return found


def _label(kind: str, place: int, table: object) -> str:
    name = table.get("id", table.get("key")) if isinstance(table, dict) else None
    return f"{kind} {name if isinstance(name, str) else place}"


def _structure(analysis: Analysis) -> Iterator[str]:
    """Say which names lead nowhere or stand twice, and which way of an action has no row."""
    losses = [loss.key for loss in analysis.losses]
    actions = [action.key for action in analysis.actions]
    for kind, names in (("loss", losses), ("action", actions)):
        yield from _twice(kind, names)
    yield from _twice("row", [row.id for row in analysis.rows])
    for row in analysis.rows:
        if row.action not in actions:
            yield f"{FILE}: row {row.id}: {row.action} is no action of the table."
        for loss in row.losses:
            if loss not in losses:
                yield f"{FILE}: row {row.id}: {loss} is no loss of the table."
    seen = {(row.action, row.way) for row in analysis.rows}
    for action in actions:
        for way in WAYS:
            if (action, way) not in seen:
                yield f"{FILE}: action {action} has no row for the way {way}."


def _twice(kind: str, names: list[str]) -> Iterator[str]:
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"{FILE}: {kind} {name} is there twice."


def problems(analysis: Analysis, pack: Pack, folder: Path, hands: Honest) -> Iterator[str]:
    """Yield a sentence for each replay that is missing, unused, or not refused as its rows say."""
    there = {file.stem: file for file in sorted((folder / REPLAYS).glob("*.json"))}
    for name in sorted(analysis.replays - there.keys()):
        yield f"{FILE}: {REPLAYS}/{name}.json is not there."
    for name, file in there.items():
        rows = [row for row in analysis.rows if row.replay == name]
        if not rows:
            yield f"{REPLAYS}/{name}.json: no row of {FILE} is answered by it."
        yield from _judged(pack, file, rows, hands)


def _judged(pack: Pack, file: Path, rows: Iterable[Row], hands: Honest) -> Iterator[str]:
    name = f"{REPLAYS}/{file.name}"
    try:
        history = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        yield f"{name}: not readable as JSON: {error}."
        return
    case = Case("replay", name, allowed=False, history=history)
    wrong = case_histories.judge(pack, case, hands)
    yield from wrong
    if wrong:
        return
    walked = case.walked(pack, hands)
    words = {word for reason in (walked[-1].refused if walked else ()) for word in said(reason)}
    for row in rows:
        if row.by not in words:
            told = ", ".join(sorted(words)) or "nothing"
            yield f"{name}: row {row.id} says refused by {row.by}; it is refused by {told}."


def said(reason: Reason) -> Iterator[str]:
    """Yield the words by which a reason can be named: its code, or its step and its hazard."""
    if reason.hindrance is None:
        yield reason.code
        return
    yield reason.hindrance.step.key
    if reason.hindrance.hazard is not None:
        yield reason.hindrance.hazard.hazard.key
