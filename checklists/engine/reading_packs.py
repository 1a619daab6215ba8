"""Turns a folder of TOML into a Pack, or into a list of sentences about what is wrong with it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar, cast

from checklists.engine import cel, checking_packs
from checklists.engine.history import Invalidation
from checklists.engine.pack import (
    Caution,
    Limit,
    Pack,
    PackError,
    Plan,
    Reading,
    Rule,
    RuleLimit,
    Step,
    Suspect,
)
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK
from checklists.engine.words import EVENTS, GATES, PHASES, POWER, ROLES, SIGNAL_WORDS

NOT_RULES = (".cases.toml", ".properties.toml", ".units.toml")
OWN_RULES = "the shop's own rules"
QUOTED_FACT = re.compile(r"\{([a-z._]+)\}")

_RULE_KEYS = {"id", "when", "require", "because", "source", "limits"}
_STEP_KEYS = {
    "key", "title", "instruction", "phase", "gate", "gate_once_opened", "hold", "after", "caution",
    "readings", "plan", "ended_by", "signed_by", "waivable_by", "not_applicable", "second_person",
    "needs_power", "source", "role",
}  # fmt: skip
_SUSPECT_KEYS = {
    "key", "title", "when", "weight", "minutes", "test", "section", "more_when", "times", "source",
}  # fmt: skip
_READING_KEYS = {"quantity", "title", "unit", "source", "min", "max", "optional", "role"}
_LIMIT_KEYS = {"step", "quantity", "source", "min", "max"}

Table = Mapping[str, Any]
T = TypeVar("T")
R = TypeVar("R", bound=StrEnum)


def load(folder: Path, house: Path | None = None, own: Table | None = None) -> Pack:
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


class _Reader:
    def __init__(self) -> None:
        self.problems: list[str] = []
        self.rules: dict[str, Rule] = {}
        self.steps: dict[str, Step] = {}
        self.suspects: dict[str, Suspect] = {}
        self.head: dict[str, str] = {}
        self.raw: dict[str, object] = {}
        self.shipped: frozenset[str] | None = None

    def read(self, folder: Path) -> None:
        files = [f for f in sorted(folder.glob("*.toml")) if not f.name.endswith(NOT_RULES)]
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

    def take(self, content: Table, file: str, text: str) -> None:
        """Take the tables of one file; `text` is it as written, for line numbers."""
        for stray in content.keys() - {"pack", "rule", "step", "suspect"}:
            self.problems.append(f"{file}: [{stray}] is not known; use pack, rule, step, suspect.")
        self.head.update(content.get("pack", {}))
        source = _Source(file, text)
        for table in content.get("step", []):
            self._shelve(self.steps, "step", "key", table, source, step_from)
        for table in content.get("rule", []):
            self._shelve(self.rules, "rule", "id", table, source, rule_from)
            self._refuse_looser(table, source)
        for table in content.get("suspect", []):
            self._shelve(self.suspects, "suspect", "key", table, source, suspect_from)

    def _shelve(
        self,
        shelf: dict[str, T],
        what: str,
        name_key: str,
        table: Table,
        source: _Source,
        build: Any,
    ) -> None:
        name = str(table.get(name_key, "(unnamed)"))
        label = source.label(what, name_key, name)
        if name in shelf:
            self.problems.append(f"{label} is there already; give it another name.")
            return
        try:
            shelf[name] = build(table, source.stem)
        except (cel.ConditionError, ValueError) as error:
            self.problems.append(f"{label}: {error}")
        except KeyError as error:
            self.problems.append(f"{label}: {error.args[0]} is missing.")
        self.raw[f"{what}:{name}"] = table

    def _refuse_looser(self, table: Table, source: _Source) -> None:
        """A shop's limit that is looser than the shipped one would be without effect: say so."""
        rule = self.rules.get(str(table.get("id")))
        if rule is None or self.shipped is None:
            return
        for limit in rule.limits:
            step = self.steps.get(limit.step)
            shipped = step.readings if step and step.key in self.shipped else ()
            for reading in shipped:
                if reading.quantity == limit.quantity and _looser(limit, reading):
                    label = source.label("rule", "id", rule.id)
                    self.problems.append(
                        f"{label} loosens {limit.step}/{limit.quantity}; a shop can only tighten."
                    )

    def pack(self) -> Pack:
        problems = [*self.problems, *checking_packs.problems(self.rules, self.steps)]
        if problems:
            raise PackError(problems)
        name, version = self.head.get("name", "pack"), self.head.get("version", "0")
        raw = {"name": name, "version": version, **self.raw}
        pack = Pack(
            name=name,
            version=version,
            rules=tuple(self.rules.values()),
            steps=self.steps,
            raw=raw,
            suspects=tuple(self.suspects.values()),
        )
        _ = pack.rank  # a circle must be found now, not at the bench
        return pack


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


def _looser(limit: RuleLimit, reading: Reading) -> bool:
    """Compare plain numbers; what is worked out from facts is left to the strictest-wins rule."""
    pairs = ((limit.high, reading.high, 1), (limit.low, reading.low, -1))
    return any(
        mine and theirs and not mine.worked_out and not theirs.worked_out
        and mine.number * sign > theirs.number * sign
        for mine, theirs, sign in pairs
    )  # fmt: skip


def rule_from(table: Table, file: str) -> Rule:
    """Build one rule; ValueError, KeyError or ConditionError say what is wrong."""
    _only(table, _RULE_KEYS)
    because = str(table["because"])
    for name in QUOTED_FACT.findall(because):
        _word("because", name, VOCABULARY)
    return Rule(
        id=str(table["id"]),
        condition=cel.condition(table["when"]),
        require=tuple(table.get("require", ())),
        because=because,
        source=_sourced(table),
        file=file,
        limits=tuple(_rule_limit(limit) for limit in table.get("limits", ())),
    )


def suspect_from(table: Table, file: str) -> Suspect:
    """Build one possible cause; ValueError, KeyError or ConditionError say what is wrong."""
    _only(table, _SUSPECT_KEYS)
    amounts = {name: float(table[name]) for name in ("weight", "minutes")}
    amounts["times"] = float(table.get("times", 1))
    for name, amount in amounts.items():
        if not 0 < amount < 10_000:
            raise ValueError(f"{name} is {amount:g}; it must be above 0 and below 10,000.")
    more = table.get("more_when")
    return Suspect(
        key=str(table["key"]),
        title=str(table["title"]),
        condition=cel.condition(table["when"]),
        test=str(table["test"]),
        section=str(table.get("section", "")),
        source=_sourced(table),
        more=cel.condition(more) if more else None,
        **amounts,
    )


def step_from(table: Table, file: str) -> Step:
    """Build one step; ValueError, KeyError or ConditionError say what is wrong."""
    _only(table, _STEP_KEYS)
    step = Step(
        key=str(table["key"]),
        title=str(table["title"]),
        instruction=str(table["instruction"]),
        phase=_word("phase", table["phase"], PHASES),
        file=file,
        gate=_gate(table, "gate"),
        gate_once_opened=_gate(table, "gate_once_opened"),
        hold=bool(table.get("hold", False)),
        after=tuple(table.get("after", ())),
        caution=_caution(table.get("caution")),
        readings=tuple(_reading(reading) for reading in table.get("readings", ())),
        plan=_plan(table.get("plan")),
        invalidated_by=tuple(_invalidation(entry) for entry in table.get("ended_by", ())),
        signed_by=_words("signed_by", table.get("signed_by", ("owner", "technician")), ROLES),
        waivable_by=_words("waivable_by", table.get("waivable_by", ()), ROLES),
        not_applicable=bool(table.get("not_applicable", not table.get("hold", False))),
        second_person=bool(table.get("second_person", False)),
        needs_power=_words("needs_power", table.get("needs_power", ()), POWER),
        source=_sourced(table),
        role=_role("role", table, StepRole),
    )
    faults = list(checking_packs.step_problems(step))
    if faults:
        raise ValueError(" ".join(faults))
    return step


def _reading(table: Table) -> Reading:
    _only(table, _READING_KEYS)
    low, high = _limit(table.get("min")), _limit(table.get("max"))
    return Reading(
        quantity=str(table["quantity"]),
        title=str(table.get("title", table["quantity"].replace("_", " "))),
        unit=str(table["unit"]),
        source=_sourced(table) if low or high else str(table.get("source", "")),
        low=low,
        high=high,
        required=not table.get("optional", False),
        role=_role("reading role", table, ReadingRole),
    )


def _rule_limit(table: Table) -> RuleLimit:
    _only(table, _LIMIT_KEYS)
    low, high = _limit(table.get("min")), _limit(table.get("max"))
    return RuleLimit(
        step=table["step"], quantity=table["quantity"], source=_sourced(table), low=low, high=high
    )


def _limit(value: Any) -> Limit | None:
    if value is None:
        return None
    if isinstance(value, Mapping):
        _only(value, {"known", "unknown"})
        return Limit(float(value["unknown"]), cel.quantity(value["known"]))
    return Limit(float(value))


def _plan(table: Table | None) -> Plan | None:
    if table is None:
        return None
    _only(table, {"calculation", "arguments"})
    arguments = table.get("arguments", {}).items()
    return Plan(
        str(table["calculation"]), tuple((name, cel.quantity(sum_)) for name, sum_ in arguments)
    )


def _caution(table: Table | None) -> Caution | None:
    if table is None:
        return None
    _only(table, {"signal_word", "text"})
    return Caution(_word("signal_word", table["signal_word"], SIGNAL_WORDS), str(table["text"]))


def _invalidation(entry: Any) -> Invalidation:
    table = {"event": entry} if isinstance(entry, str) else entry
    _only(table, {"event", "work", "finding", "section", "except_section"})
    return Invalidation(
        event_type=_word("ended_by", table["event"], EVENTS),
        work=frozenset(_words("ended_by work", table.get("work", ()), WORK)),
        finding=frozenset(_words("ended_by finding", table.get("finding", ()), FINDINGS)),
        section=frozenset(str(name) for name in table.get("section", ())),
        except_section=frozenset(str(name) for name in table.get("except_section", ())),
    )


def _gate(table: Table, key: str) -> str | None:
    return _word(key, table[key], GATES) if key in table else None


def _role(what: str, table: Table, roles: type[R]) -> R | None:
    return roles(_word(what, table["role"], list(roles))) if "role" in table else None


def _sourced(table: Table) -> str:
    source = str(table["source"]).strip()
    if not source:
        raise ValueError("source is empty; name the publication or write 'common practice'.")
    return source


def _word(what: str, word: object, words: Any) -> str:
    if word not in words:
        raise ValueError(f"{what} {word!r} is not one of {', '.join(words)}.")
    return cast("str", word)


def _words(what: str, given: Any, words: Any) -> tuple[str, ...]:
    return tuple(_word(what, word, words) for word in given)


def _only(table: Table, allowed: set[str]) -> None:
    for stray in sorted(table.keys() - allowed):
        raise ValueError(f"{stray} is not known here; use {', '.join(sorted(allowed))}.")
