"""Reads the properties that a pack must keep from `*.properties.toml` beside it.

    [[property]]
    id = "discharge-before-hands"
    says = "A rail that may exceed 60 V is discharged before hands go in."
    if_possible = 'unit.rail_volts > 60.0'   # or `if`: only when plainly true
    hold = ["discharge-reservoirs"]          # each is a hold ...
    gate = "open-up"                         # ... of this gate

Other claims: `any_hold` with `gate` (at least one), `listed`, `not_listed`, and
`limit = { step, quantity, max }` or `min` (what is in force is at least as strict).
`touched = true` speaks of units that were opened or worked on earlier, `false` of others.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from checklists.engine import cel
from checklists.engine.claims import AnyHold, Claim, Holds, LimitAtLeast, Listed, NotListed, Premise
from checklists.engine.pack import Pack
from checklists.engine.quoting import quoted
from checklists.engine.words import GATES

Table = Mapping[str, Any]

_CLAIMS: dict[str, Callable[[Table, Pack], Claim]] = {
    "hold": lambda table, pack: Holds(_steps(table["hold"], pack), _gate(table)),
    "any_hold": lambda table, pack: AnyHold(_steps(table["any_hold"], pack), _gate(table)),
    "listed": lambda table, pack: Listed(_steps(table["listed"], pack)),
    "not_listed": lambda table, pack: NotListed(_steps(table["not_listed"], pack)),
    "limit": lambda table, pack: _limit(table["limit"], pack),
}
_KEYS = {"id", "says", "if", "if_possible", "gate", "touched", *_CLAIMS}
_LIMIT_KEYS = {"step", "quantity", "min", "max"}


class PropertyError(ValueError):
    """A property that cannot be read; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Property:
    """A claim about a pack, of which units it is made, and both in words."""

    id: str
    says: str
    premise: Premise
    claim: Claim


def read(folder: Path, pack: Pack) -> list[Property]:
    """Read the properties beside a pack; PropertyError names file, property and fault."""
    properties = [
        property_from(table, pack, file.name)
        for file in sorted(folder.glob("*.properties.toml"))
        for table in _tables(file)
    ]
    counts = Counter(p.id for p in properties)
    twice = sorted(name for name, count in counts.items() if count > 1)
    if twice:
        raise PropertyError(f"Properties are there twice: {', '.join(twice)}.")
    return properties


def _tables(file: Path) -> Iterable[Table]:
    try:
        content = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise PropertyError(f"{file.name}: not readable as TOML: {error}.") from None
    tables: Iterable[Table] = content.get("property", [])
    return tables


def property_from(table: Table, pack: Pack, file: str) -> Property:
    """Build one property; PropertyError says what is wrong with it."""
    try:
        return _property(table, pack)
    except (ValueError, cel.ConditionError) as error:
        label = f"{file}: property {table.get('id', '(unnamed)')}"
        raise PropertyError(f"{label}: {error}") from None


def _property(table: Table, pack: Pack) -> Property:
    _require(table, _KEYS, ("id", "says"))
    made = [name for name in _CLAIMS if name in table]
    if len(made) != 1:
        raise ValueError(f"make one claim, not {len(made)}.")
    premise = Premise(
        certain=_condition(table, "if"),
        possible=_condition(table, "if_possible"),
        touched=table.get("touched"),
    )
    return Property(table["id"], table["says"], premise, _CLAIMS[made[0]](table, pack))


def _condition(table: Table, name: str) -> cel.Condition | None:
    return cel.condition(table[name]) if name in table else None


def _steps(keys: Iterable[str], pack: Pack) -> tuple[str, ...]:
    for key in keys:
        if key not in pack.steps:
            raise ValueError(f"{key} is no step of the pack.")
    return tuple(keys)


def _gate(table: Table) -> str:
    gate = table.get("gate")
    if gate not in GATES:
        raise ValueError(f"gate is {quoted(gate)}; it must be a gate.")
    return str(gate)


def _limit(table: Table, pack: Pack) -> LimitAtLeast:
    _require(table, _LIMIT_KEYS, ("step", "quantity"))
    [key] = _steps([table["step"]], pack)
    step, quantity = pack.steps[key], table["quantity"]
    if quantity not in {reading.quantity for reading in step.readings}:
        raise ValueError(f"{quoted(quantity)} is no reading of {key}.")
    low, high = (float(table[end]) if end in table else None for end in ("min", "max"))
    if low is None and high is None:
        raise ValueError("limit needs min or max.")
    return LimitAtLeast(step=step, quantity=quantity, low=low, high=high)


def _require(table: Table, known: set[str], needed: tuple[str, ...]) -> None:
    for stray in sorted(table.keys() - known):
        raise ValueError(f"{stray} is not known; use {', '.join(sorted(known))}.")
    for name in needed:
        if name not in table:
            raise ValueError(f"{name} is missing.")
