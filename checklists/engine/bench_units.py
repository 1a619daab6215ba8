"""Units as they stand on the bench: true values, true faults, and where these must be stopped.

They lie beside a pack in `*.bench.toml` and are written from physics and from what a technician
has had on the bench, not from limits. The shop is walked with them: a healthy unit has to arrive
at its release, a sick one has to be stopped where it says. The shape: docs/writing-rules.md.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import Field

from checklists.engine.pack import Pack
from checklists.engine.quoting import quoted
from checklists.engine.strict_tables import Table, TableError, one_of, taken
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK, FactError, Facts, accept
from checklists.engine.words import EXPOSURES

FILES = "*.bench.toml"
_TABLES = ("base", "quantity", "reading", "unit", "sick")

Words = Annotated[str, Field(min_length=1)]
T = TypeVar("T", bound=Table)


class BenchUnitsError(ValueError):
    """Files that cannot be read; `problems` holds one sentence for each fault."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


class Quantity(Table):
    """Something that is true of a unit, in its unit of measure, and how it is read."""

    name: Words
    unit: Words
    says: Words


class ReadingOf(Table):
    """Which quantities a reading of the pack shows, where it has another name or shows several."""

    quantity: Words
    of: Annotated[list[Words], Field(min_length=1)]
    take: Literal["lowest", "highest"] = "highest"

    def value(self, true: dict[str, float]) -> float | None:
        """Return what the meter shows; None when the unit has nothing of the kind."""
        values = [true[name] for name in self.of if name in true]
        if not values:
            return None
        return min(values) if self.take == "lowest" else max(values, key=abs)


class Mend(Table):
    """What is found, and the work that mends it."""

    section: Words
    finding: Annotated[str, one_of((*FINDINGS, ""))] = ""
    work: Annotated[str, one_of((*WORK, ""))] = ""
    note: str = ""


class Healthy(Table):
    """A unit that is as it should be, but for the harmless fault that it came with.

    `facts` are the vocabulary's; `true` maps a quantity to its value and a line of reasoning.
    """

    name: Words
    maker: Words
    model: Words
    complaint: Words
    facts: dict[str, Any]
    mend: list[Mend]
    true: dict[str, list[Any]]


class Sick(Table):
    """A healthy unit with one fault: when it comes, what it shows, where it must be stopped.

    `before` is the exposure that must not be met while the fault is there; `stopped_by` are steps
    of which one has to fail or to be due then, `says` words of which its text has to use one.
    `seen`: a look shows it, at the counter or when the unit is open. `shows_at`: steps without a
    reading that cannot honestly be passed. `mended_by_hand`: doing these steps right mends it.
    """

    name: Words
    of: Words
    complaint: Words
    facts: dict[str, Any] = {}
    comes: Literal["arrival", "work", "closing"]
    why: Words
    stopped_by: Annotated[list[Words], Field(min_length=1)]
    before: Annotated[str, one_of(EXPOSURES)]
    says: Annotated[list[Words], Field(min_length=1)]
    seen: Literal["", "counter", "open"] = ""
    shows_at: list[Words] = []
    mended_by_hand: list[Words] = []
    work_first: list[Mend] = []
    trials_fail: bool = False
    mend: list[Mend]
    true: dict[str, list[Any]] = {}


@dataclass(frozen=True, slots=True)
class Unit:
    """A healthy unit, or a sick one with `sick` set: facts taken, and values without their reasons."""

    name: str
    healthy: Healthy
    facts: Facts
    true: dict[str, float]
    sick: Sick | None = None
    # What the readings show while the fault is there; of a healthy unit the same as `true`.
    wrong: dict[str, float] = field(default_factory=dict)

    @property
    def mends(self) -> list[Mend]:
        """What has to be done before it can go."""
        return self.sick.mend if self.sick else self.healthy.mend


@dataclass(frozen=True, slots=True)
class BenchUnits:
    """All units beside a pack, and how their values are read."""

    quantities: dict[str, Quantity]
    readings: dict[str, ReadingOf]
    healthy: tuple[Unit, ...]
    sick: tuple[Unit, ...]

    def shown(self, quantity: str, true: dict[str, float]) -> float | None:
        """Return what a reading of the pack shows; None when the unit has nothing of the kind.

        What no table of readings names shows the quantity of its own name.
        """
        reading = self.readings.get(quantity)
        return reading.value(true) if reading else true.get(quantity)


def read(folder: Path) -> BenchUnits:
    """Return the units beside a pack; BenchUnitsError lists every fault of every file."""
    reader = _Reader()
    for file in sorted(folder.glob(FILES)):
        reader.read(file)
    return reader.units()


def problems(units: BenchUnits, pack: Pack) -> Iterator[str]:
    """Yield a sentence for each word that the pack does not know."""
    quantities = {r.quantity for step in pack.steps.values() for r in step.readings}
    for name in sorted(units.readings.keys() - quantities):
        yield f"{FILES}: reading {name}: no step of the pack reads it."
    for unit in units.sick:
        sick = unit.sick
        named = {*sick.stopped_by, *sick.shows_at, *sick.mended_by_hand} if sick else set()
        for key in sorted(named - pack.steps.keys()):
            yield f"{FILES}: {unit.name}: {quoted(key)} is no step of the pack."


class _Reader:
    """Collects the tables and faults of all files, then ties sick units to healthy ones."""

    def __init__(self) -> None:
        self.problems: list[str] = []
        self._quantities: dict[str, Quantity] = {}
        self._readings: dict[str, ReadingOf] = {}
        self._well: list[tuple[str, dict[str, Any], Healthy]] = []
        self._ill: list[tuple[str, Sick]] = []

    def read(self, file: Path) -> None:
        """Take one file."""
        try:
            content = tomllib.loads(file.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            self.problems.append(f"{file.name}: not readable as TOML: {error}.")
            return
        for stray in sorted(content.keys() - set(_TABLES)):
            self.problems.append(f"{file.name}: [{stray}] is not known; use {', '.join(_TABLES)}.")
        base = content.get("base", {})
        self._quantities |= {q.name: q for q in self._tables(file, content, "quantity", Quantity)}
        self._readings |= {r.quantity: r for r in self._tables(file, content, "reading", ReadingOf)}
        self._well += [(file.name, base, w) for w in self._tables(file, content, "unit", Healthy)]
        self._ill += [(file.name, s) for s in self._tables(file, content, "sick", Sick)]

    def units(self) -> BenchUnits:
        """Return everything; BenchUnitsError when anything was wrong."""
        well = [self._healthy(*one) for one in self._well]
        ill = [self._sick(*one, {unit.name: unit for unit in well}) for one in self._ill]
        sick = [unit for unit in ill if unit]
        self._check_names([unit.name for unit in (*well, *sick)])
        if self.problems:
            raise BenchUnitsError(self.problems)
        return BenchUnits(self._quantities, self._readings, tuple(well), tuple(sick))

    def _tables(self, file: Path, content: dict[str, Any], kind: str, model: type[T]) -> list[T]:
        found = []
        for place, table in enumerate(content.get(kind, []), 1):
            try:
                found.append(taken(model, table))
            except TableError as error:
                name = table.get("name", place) if isinstance(table, dict) else place
                self.problems += [f"{file.name}: {kind} {name}: {p}" for p in error.problems]
        return found

    def _healthy(self, file: str, base: dict[str, Any], table: Healthy) -> Unit:
        where = f"{file}: {table.name}"
        facts = self._facts(where, {**base, **table.facts})
        return Unit(table.name, table, facts, self._values(where, table.true))

    def _sick(self, file: str, table: Sick, well: dict[str, Unit]) -> Unit | None:
        where, of = f"{file}: {table.name}", well.get(table.of)
        if of is None:
            self.problems.append(f"{where}: there is no unit {quoted(table.of)}.")
            return None
        facts = self._facts(where, {**of.facts, **table.facts})
        wrong = {**of.true, **self._values(where, table.true)}
        return Unit(table.name, of.healthy, facts, of.true, table, wrong)

    def _facts(self, where: str, raw: dict[str, Any]) -> Facts:
        try:
            facts = accept(raw)
        except FactError as error:
            self.problems.append(f"{where}: {error}")
            return {}
        for computed in sorted(name for name in facts if VOCABULARY[name].computed):
            self.problems.append(f"{where}: {computed} comes from the job's own record.")
        return facts

    def _values(self, where: str, true: dict[str, list[Any]]) -> dict[str, float]:
        values = {}
        for quantity, said in true.items():
            if quantity not in self._quantities:
                self.problems.append(f"{where}: {quoted(quantity)} is no [[quantity]].")
            match said:
                case [bool(), _]:
                    self.problems.append(f"{where}: {quantity} must be [number, reason].")
                case [int() | float() as value, str(why)] if why:
                    values[quantity] = float(value)
                case _:
                    self.problems.append(f"{where}: {quantity} must be [number, reason].")
        return values

    def _check_names(self, names: list[str]) -> None:
        twice = sorted({name for name in names if names.count(name) > 1})
        self.problems += [f"{FILES}: {name} is there twice." for name in twice]
        for reading in self._readings.values():
            for name in sorted(set(reading.of) - self._quantities.keys()):
                self.problems.append(f"{FILES}: {reading.quantity}: {quoted(name)} is no quantity.")
