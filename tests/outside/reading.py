"""Reads a ledger as a stranger would: the rows, the hazards as the pack's tables have them, no engine.

It knows less than the engine, and errs on the side of saying nothing: hazards whose condition it
cannot read are left out, and so are events that sections or marks narrow.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.composed import ROOT

Row = dict[str, Any]
# Of an amplifier on the mains, class I, that is known to be one.
_TRUE_HERE = {
    "wrong-mains-voltage", "wrong-fuse", "new-wiring-without-earth",
    "new-wiring-without-insulation-test", "dc-at-the-output",
}  # fmt: skip
_ONE_WORD = re.compile(r'"(\S+)" in (?:findings|work)')
_PLAIN_PARTS = {"event", "work", "finding", "fact", "values", "power"}
# Whatever else is true: nobody gets mains without these (design of the checks, first power).
ALWAYS = ("visual-intake", "mains-voltage-match", "fuse-check")
_GOOD = ("pass", "waived", "not-applicable")


def hazards() -> list[dict[str, Any]]:
    """The table of the pack, as it is written."""
    tables = (tomllib.loads(path.read_text("utf-8")) for path in _files())
    return [hazard for table in tables for hazard in table.get("hazard", ())]


def _files() -> Iterator[Path]:
    folder = ROOT / "checklists" / "packs"
    return (path for path in sorted(folder.glob("*.toml")) if path.name.count(".") == 1)


def against_power(before: list[Row], to: str, table: list[dict[str, Any]]) -> list[str]:
    """Sentences about holds that were not met when mains came on after these rows."""
    met = {to} | ({"live"} if _cover_is_off(before) else set())
    found = [f"{key} had not passed" for key in ALWAYS if not _good_since(before, key, 0)]
    for hazard in table:
        since = _raised(before, hazard)
        if since is None or met.isdisjoint(hazard["meets"]):
            continue
        stand = [_good_since(before, key, since) for key in hazard["cleared_by"]]
        if not (any(stand) if hazard.get("any_clears") else all(stand)):
            found.append(f"{hazard['key']} was up since row {since}: {hazard['cleared_by']}")
    return found


def _cover_is_off(rows: list[Row]) -> bool:
    kinds = [row["kind"] for row in rows if row["kind"] in ("cover_removed", "cover_fitted")]
    return bool(kinds) and kinds[-1] == "cover_removed"


def _raised(rows: list[Row], hazard: dict[str, Any]) -> int | None:
    """The row that raised it last, 0 for its arrival; None when it never was up, or nobody knows."""
    possible = hazard["possible"]
    known = possible == "true" or hazard["key"] in _TRUE_HERE
    words = set(_ONE_WORD.findall(possible))
    if not known and _ONE_WORD.sub("", possible).strip(" |"):
        return None
    since = 0 if known and hazard.get("on_arrival") else None
    armed = known
    for row in rows:
        armed = armed or row["data"].get("finding", row["data"].get("work")) in words
        if armed and any(_matches(row, rule) for rule in hazard.get("raised_by", ())):
            since = row["sequence"]
    return since


def _matches(row: Row, rule: str | dict[str, Any]) -> bool:
    if isinstance(rule, str):
        return bool(row["kind"] == rule)
    if row["kind"] != rule["event"] or not rule.keys() <= _PLAIN_PARTS:
        return False
    data = row["data"]
    words = [rule.get("work"), rule.get("finding"), rule.get("power")]
    said = [data.get("work"), data.get("finding"), data.get("power")]
    if any(wanted and word not in wanted for wanted, word in zip(words, said, strict=True)):
        return False
    if "fact" not in rule:
        return True
    value = data["value"] if isinstance(data["value"], list) else [str(data["value"])]
    return data["name"] == rule["fact"] and not set(value).isdisjoint(rule.get("values", value))


def _good_since(rows: list[Row], key: str, since: int) -> bool:
    """Whether the last sign-off of a step is good, and younger than a row."""
    gone = {row["data"]["row"] for row in rows if row["kind"] == "entry_withdrawn"}
    mine = [
        row
        for row in rows
        if row["kind"] in ("step_signed", "step_waived") and row["data"]["step"] == key
    ]
    if not mine or mine[-1]["sequence"] in gone:
        return False
    return mine[-1]["sequence"] > since and mine[-1]["data"]["result"] in _GOOD


def chain_faults(rows: list[Row]) -> list[str]:
    """Sentences about rows that do not follow each other."""
    found = []
    for place, row in enumerate(rows, 1):
        before = rows[place - 2]["hash"] if place > 1 else ""
        if row["sequence"] != place:
            found.append(f"row {place} says it is {row['sequence']}")
        if place > 1 and row["previous"] != before:
            found.append(f"row {place} does not follow the one before it")
    return found


def power_of(rows: list[Row]) -> str:
    """The power that the rows tell."""
    told = [row for row in rows if row["kind"] in ("power_applied", "power_removed")]
    return told[-1]["data"]["power"] if told and told[-1]["kind"] == "power_applied" else "isolated"
