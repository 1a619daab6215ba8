"""What honest hands cannot sign as passed: a fault that is known and that no work has mended.

A signature that says what is not so is beyond every rule. So a replay that signs for a person
signs only what can be true; the table beside the pack says, from physics, what cannot be.

    [[unmended]]
    step = "fuse-check"
    fact = "intake.damage"        # or `finding = "fuse-wrong"`
    value = "fuse-bridged"
    mended_by = ["fuse-replaced"]  # work of this kind after it, in the same section when one is named
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from checklists.engine.happenings import Happening
from checklists.engine.strict_tables import Table, TableError, one_of, taken
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK, Value

FILE = "hazards.honest.toml"


class _Unmended(Table):
    step: str
    finding: Annotated[str, one_of(FINDINGS)] = ""
    fact: Annotated[str, one_of(VOCABULARY)] = ""
    value: str = ""
    mended_by: list[Annotated[str, one_of(WORK)]] = []


@dataclass(frozen=True, slots=True)
class Honest:
    """What cannot be signed while it is not mended."""

    table: tuple[_Unmended, ...] = ()

    def cannot_sign(self, step: str, given: dict[str, Value], events: Iterable[Happening]) -> bool:
        """Tell whether a pass of this step would say what is not so.

        `given` are the facts that the history began with, `events` what was recorded since.
        """
        of_step = [line for line in self.table if line.step == step]
        return any(_unmended(line, given, list(events)) for line in of_step)


def _unmended(line: _Unmended, given: dict[str, Value], events: list[Happening]) -> bool:
    there = line.fact and line.value in _words(given.get(line.fact))
    open_in: set[str] = {""} if there else set()
    for event in events:
        if _tells(line, event):
            open_in.add(event.section)
        elif event.work in line.mended_by:
            open_in -= {event.section, ""} if event.section else set(open_in)
    return bool(open_in)


def _tells(line: _Unmended, event: Happening) -> bool:
    if line.finding:
        return event.finding == line.finding
    return (
        event.kind == "fact_recorded"
        and event.name == line.fact
        and line.value in _words(event.value)
    )


def _words(value: object) -> list[object]:
    return value if isinstance(value, list) else [value]


NOBODY = Honest()


def read(folder: Path) -> Honest:
    """Read the table beside a pack; nothing is unmended where there is none.

    TableError names the fault.
    """
    file = folder / FILE
    if not file.exists():
        return NOBODY
    try:
        content = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise TableError([f"{file.name}: not readable as TOML: {error}."]) from None
    return Honest(tuple(taken(_Unmended, line) for line in content.get("unmended", [])))
