"""Turns a folder of TOML into a Pack, or into a list of sentences about what is wrong with it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from checklists.engine import checking_cards, checking_hazards, checking_packs, tying_hazards
from checklists.engine.hazard_tables import HazardTable
from checklists.engine.hazards import Hazard
from checklists.engine.pack import Card, Pack, PackError, Reading, Rule, RuleLimit, Step, Suspect
from checklists.engine.pack_tables import (
    CardTable,
    PackTable,
    RuleTable,
    StepTable,
    SuspectTable,
)
from checklists.engine.quoting import quoted
from checklists.engine.strict_tables import Builds, TableError, taken

_TABLES = ("pack", "rule", "step", "card", "hazard", "suspect")
NOT_RULES = (
    ".bench.toml",
    ".cases.toml",
    ".equivalents.toml",
    ".honest.toml",
    ".properties.toml",
    ".units.toml",
)
ANALYSIS = "stpa.toml"  # what can go wrong at the bench; it lists no steps
OWN_RULES = "the shop's own rules"

_NAME_KEY = {"rule": "id", "step": "key", "card": "name", "suspect": "key", "hazard": "key"}

Tables = Mapping[str, Any]
T = TypeVar("T")


def holds_rules(file: Path) -> bool:
    """Tell whether a file of a pack's folder holds rules, steps or hazards."""
    return file.name != ANALYSIS and not file.name.endswith(NOT_RULES)


def load(folder: Path, house: Path | None = None, own: Tables | None = None) -> Pack:
    """Read the pack in `folder`, with the shop's own folder `house` and its `own` tables on top.

    What a shop adds can add and can tighten. It cannot take a shipped rule or step away, word
    one anew (a name that is taken is an error), or name a looser limit.
    PackError lists every fault of every file at once, with the line where it is known.
    """
    reader = _Reader()
    reader.read(folder)
    reader.shipped = frozenset(reader.steps)
    if house is not None:
        reader.read(house)
    if own is not None:
        reader.take(own, OWN_RULES, "")
    return reader.pack()


@dataclass(frozen=True, kw_only=True)
class Parts:
    """What stands in the files of a pack, before hazards and steps are tied to each other."""

    name: str
    version: str
    rules: Mapping[str, Rule]
    steps: Mapping[str, Step]
    hazards: Mapping[str, Hazard]
    suspects: tuple[Suspect, ...]
    cards: Mapping[str, Card]
    raw: dict[str, object]

    def problems(self) -> list[str]:
        """Return a sentence for each name that leads nowhere and each step that cannot be done."""
        found = checking_packs.problems(dict(self.rules), dict(self.steps))
        found += checking_cards.problems(self.cards, self.steps)
        return [*found, *checking_hazards.problems(self.hazards, self.steps)]

    def pack(self) -> Pack:
        """Return the pack; PackError lists what is wrong with it."""
        problems = self.problems()
        if problems:
            raise PackError(problems)
        hazards = tying_hazards.tied(self.hazards, self.steps)
        pack = Pack(
            name=self.name,
            version=self.version,
            rules=tuple(self.rules.values()),
            steps=tying_hazards.with_ends(self.steps, hazards),
            raw=self.raw,
            suspects=self.suspects,
            hazards=hazards,
            cards=dict(self.cards),
        )
        _ = pack.rank  # a circle must be found now, not at the bench
        return pack


def parts(folder: Path) -> Parts:
    """Read the pack in `folder` as it stands in its files; PackError lists every fault."""
    reader = _Reader()
    reader.read(folder)
    if reader.problems:
        raise PackError(reader.problems)
    return reader.parts()


class _Reader:
    def __init__(self) -> None:
        self.problems: list[str] = []
        self.rules: dict[str, Rule] = {}
        self.steps: dict[str, Step] = {}
        self.suspects: dict[str, Suspect] = {}
        self.hazards: dict[str, Hazard] = {}
        self.cards: dict[str, Card] = {}
        self.head: dict[str, str] = {}
        self.raw: dict[str, object] = {}
        self.shipped: frozenset[str] | None = None

    def read(self, folder: Path) -> None:
        files = [f for f in sorted(folder.glob("*.toml")) if holds_rules(f)]
        if not files:
            self.problems.append(f"{folder}: no pack here (no .toml file).")
        for file in files:
            self._read_file(file)

    def _read_file(self, file: Path) -> None:
        try:
            text = file.read_text(encoding="utf-8")
            content = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            self.problems.append(f"{file.name}: not readable as TOML: {error}.")
            return
        self.take(content, file.name, text)

    def take(self, content: Tables, file: str, text: str) -> None:
        """Take the tables of one file; `text` is it as written, for line numbers."""
        source = _Source(file, text)
        for stray in content.keys() - {"pack", *_NAME_KEY}:
            self.problems.append(f"{file}: [{stray}] is not known; use {', '.join(_TABLES)}.")
        self._take_head(content.get("pack", {}), source)
        for table in self._tables(content, "step", source):
            self._shelve("step", table, source, self.steps, StepTable)
        for table in self._tables(content, "rule", source):
            rule = self._shelve("rule", table, source, self.rules, RuleTable)
            if rule is not None and self.shipped is not None:
                self._refuse_looser(rule, source)
        for table in self._tables(content, "card", source):
            self._shelve("card", table, source, self.cards, CardTable)
        for table in self._tables(content, "suspect", source):
            self._shelve("suspect", table, source, self.suspects, SuspectTable)
        for table in self._tables(content, "hazard", source):
            self._shelve("hazard", table, source, self.hazards, HazardTable)

    def _take_head(self, table: object, source: _Source) -> None:
        try:
            self.head.update(taken(PackTable, table).model_dump(exclude_unset=True))
        except TableError as error:
            self.problems += [f"{source.file}: pack: {problem}" for problem in error.problems]

    def _tables(self, content: Tables, kind: str, source: _Source) -> list[object]:
        tables = content.get(kind, [])
        if isinstance(tables, list):
            return tables
        self.problems.append(f"{source.file}: {kind} is {quoted(tables)}; write [[{kind}]].")
        return []

    def _shelve(
        self,
        kind: str,
        table: object,
        source: _Source,
        shelf: dict[str, T],
        model: type[Builds[T]],
    ) -> T | None:
        name = _name(kind, table)
        label = source.label(kind, _NAME_KEY[kind], name)
        if name in shelf:
            self.problems.append(f"{label} is there already; give it another name.")
            return None
        self.raw[f"{kind}:{name}"] = table
        try:
            shelf[name] = taken(model, table).built(source.stem)
        except TableError as error:
            self.problems += [f"{label}: {problem}" for problem in error.problems]
            return None
        return shelf[name]

    def _refuse_looser(self, rule: Rule, source: _Source) -> None:
        """A shop's limit that is looser than the shipped one would be without effect: say so."""
        for limit in rule.limits:
            step = self.steps.get(limit.step)
            shipped = step.readings if step and step.key in (self.shipped or ()) else ()
            for reading in shipped:
                if reading.quantity == limit.quantity and _looser(limit, reading):
                    label = source.label("rule", "id", rule.id)
                    self.problems.append(
                        f"{label} loosens {limit.step}/{limit.quantity}; a shop can only tighten."
                    )

    def pack(self) -> Pack:
        if self.problems:
            # What else is wrong is told as well, so that it is mended in one go.
            raise PackError([*self.problems, *self.parts().problems()])
        return self.parts().pack()

    def parts(self) -> Parts:
        name, version = self.head.get("name", "pack"), self.head.get("version", "0")
        return Parts(
            name=name,
            version=version,
            rules=self.rules,
            steps=self.steps,
            hazards=self.hazards,
            suspects=tuple(self.suspects.values()),
            cards=self.cards,
            raw={"name": name, "version": version, **self.raw},
        )


@dataclass(frozen=True, slots=True)
class _Source:
    """A file as it is named in a sentence, with the line of a table when it can be told."""

    file: str
    text: str

    @property
    def stem(self) -> str:
        return self.file.removesuffix(".toml")

    def label(self, what: str, name_key: str, name: str) -> str:
        wanted = re.compile(rf'^\s*{name_key}\s*=\s*["\']{re.escape(name)}["\']')
        lines = [n for n, line in enumerate(self.text.splitlines(), 1) if wanted.match(line)]
        # A name that is there twice is wrong at its second place.
        place = f", line {lines[-1]}" if lines else ""
        return f"{self.file}{place}: {what} {name}"


def _name(kind: str, table: object) -> str:
    name = table.get(_NAME_KEY[kind]) if isinstance(table, Mapping) else None
    return name if isinstance(name, str) else "(unnamed)"


def _looser(limit: RuleLimit, reading: Reading) -> bool:
    """Compare plain numbers; what is worked out from facts is left to the strictest-wins rule."""
    pairs = ((limit.high, reading.high, 1), (limit.low, reading.low, -1))
    return any(
        mine and theirs and not mine.worked_out and not theirs.worked_out
        and mine.number * sign > theirs.number * sign
        for mine, theirs, sign in pairs
    )  # fmt: skip
