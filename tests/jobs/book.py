"""A small model of what a bench may believe, for random ways through the shop.

It reads the pack's TOML by itself and knows nothing of how the engine judges sign-offs and
hazards; it shares with it the words of facts and the evaluation of a condition.
"""

from __future__ import annotations

import tomllib
from datetime import datetime
from functools import cache
from typing import Any

from django.conf import settings

from checklists.engine.cel import Bound, Outcome, condition
from checklists.engine.checklist import Checklist

Table = dict[str, Any]

# What ends a sign-off of the set-up around the unit: cover, work, part, shelf, night.
BENCH_ENDS: list[Table] = [
    {"event": "cover_removed"},
    {"event": "cover_fitted"},
    {"event": "work_done"},
    {"event": "part_fitted"},
    {"event": "night_passed"},
    {"event": "stage_changed", "stage": ["awaiting_parts"]},
]
# What a hand reaches without opening: common practice.
OUTSIDE = {
    "fuse-replaced", "belt-replaced", "lithium-cell-replaced", "valves-replaced",
    "controls-cleaned", "mains-wiring-changed", "firmware-updated", "idler-replaced",
    "pinch-roller-replaced", "head-aligned", "cleaned", "adjusted", "other",
}  # fmt: skip

# Set while it plays, with the cover on.
UNDER_MAINS = {"firmware-updated", "head-aligned", "adjusted"}


def _tables(name: str) -> list[Table]:
    found = []
    for file in sorted(settings.PACK_FOLDER.glob("*.toml")):
        if not file.name.endswith((".cases.toml", ".honest.toml")):
            found += tomllib.loads(file.read_text(encoding="utf-8")).get(name, [])
    return found


def _events(named: list[Any]) -> list[Table]:
    return [{"event": one} if isinstance(one, str) else one for one in named]


@cache
def hazards() -> dict[str, Table]:
    return {one["key"]: one for one in _tables("hazard")}


@cache
def steps() -> dict[str, Table]:
    return {one["key"]: one for one in _tables("step")}


@cache
def ends() -> dict[str, list[Table]]:
    """What ends each step: its own word, the raising of what it clears, and the bench's."""
    found = {key: _events(one.get("ended_by", [])) for key, one in steps().items()}
    for hazard in hazards().values():
        for key in hazard["cleared_by"]:
            found[key] += _events(hazard.get("raised_by", []))
    for key, one in steps().items():
        found[key] += BENCH_ENDS if one.get("scope") == "bench" else []
    return found


@cache
def of_the_closed_unit(key: str) -> bool:
    """Whether it is done closed, or closing ends it: what stands was done since."""
    step = steps()[key]
    closing = any(one["event"] == "cover_fitted" for one in ends()[key])
    return step.get("needs_cover") == "on" or (step.get("gate") == "release" and closing)


def applies(named: Table, event: str, detail: Table) -> bool:
    """Tell whether an entry of the tables means what happened."""
    if named["event"] != event or (named.get("inside") and detail.get("from_outside")):
        return False
    for word in ("work", "finding", "power", "stage"):
        if word in named and detail.get(word) not in named[word]:
            return False
    section = detail.get("section", "")
    if section and section in named.get("except_section", ()):
        return False
    if section and section not in named.get("section", [section]):
        return False
    return _value_counts(named, detail)


def _value_counts(named: Table, detail: Table) -> bool:
    if "fact" not in named:
        return True
    value = detail.get("value")
    words = value if isinstance(value, list) else [value]
    return named["fact"] == detail.get("fact") and (
        "values" not in named or any(word in named["values"] for word in words)
    )


def possible(hazard: Table, facts: Table) -> bool:
    return condition(hazard["possible"]).outcome(Bound(facts)) is not Outcome.MISS


def follows_record(hazard: Table) -> bool:
    """What is read off the state of the job falls with it; it need not wait for a step."""
    return any(name.startswith(("job.", "shop.")) for name in condition(hazard["possible"]).names)


class Book:
    """For each step whether it is good, since when and for which content; and what was raised."""

    def __init__(self) -> None:
        self.good: dict[str, tuple[str, datetime]] = {}
        self.opened = False
        # Raised by an event; and raised while it was possible: no fact takes that back.
        self.raised: set[str] = set()
        self.stuck: set[str] = set()
        # Whether a dead test has passed since mains was last on.
        self.dead = False

    def signed(self, key: str, content_hash: str, at: datetime, *, good: bool) -> None:
        self.good.pop(key, None)
        if good:
            self.good[key] = (content_hash, at)
        if key == "verify-dead":
            self.dead = good

    def happened(self, event: str, facts: Table, **detail: Any) -> None:
        """Follow an event; `facts` are those after it."""
        outside = detail.get("from_outside")
        if event == "cover_removed" or (event in ("work_done", "part_fitted") and not outside):
            self.opened = True
        if event == "power_applied":
            self.dead = False
        self._end(event, detail)
        self._raise(event, facts, detail)

    def _end(self, event: str, detail: Table) -> None:
        for key, (_, at) in list(self.good.items()):
            # A test of the closed unit that was signed after work that is told late.
            if of_the_closed_unit(key) and "done_at" in detail and detail["done_at"] < at:
                continue
            if any(applies(named, event, detail) for named in ends()[key]):
                del self.good[key]

    def _raise(self, event: str, facts: Table, detail: Table) -> None:
        for key, hazard in hazards().items():
            raisers = _events(hazard.get("raised_by", []))
            if not any(applies(named, event, detail) for named in raisers):
                continue
            self.raised.add(key)
            if possible(hazard, facts) and not follows_record(hazard):
                self.stuck.add(key)

    def stands(self, key: str, checklist: Checklist) -> bool:
        """Whether a step is on the list and good for what the list says it is."""
        listed = checklist.by_key.get(key)
        return listed is not None and self.good.get(key, ("",))[0] == listed.content_hash

    def up(self, exposure: str, checklist: Checklist) -> list[str]:
        """The hazards that meet an exposure and that no sign-off has cleared."""
        return [
            key
            for key, hazard in hazards().items()
            if exposure in hazard["meets"]
            and self._there(hazard, checklist.facts)
            and not self._cleared(hazard, checklist)
        ]

    def _there(self, hazard: Table, facts: Any) -> bool:
        if hazard["key"] in self.stuck:
            return True
        come_up = hazard.get("on_arrival") or hazard["key"] in self.raised
        return bool(come_up) and possible(hazard, facts)

    def _cleared(self, hazard: Table, checklist: Checklist) -> bool:
        stand = [self.stands(key, checklist) for key in hazard["cleared_by"]]
        return any(stand) if hazard.get("any_clears") else all(stand)

    def missing(self, gate: str, checklist: Checklist) -> list[str]:
        """Hold steps of a gate that are not good."""
        return [
            s.key
            for s in checklist.steps
            if s.step.hold and self._gate(s.key) == gate and not self.stands(s.key, checklist)
        ]

    def _gate(self, key: str) -> str | None:
        table = steps()[key]
        once_opened = table.get("gate_once_opened") if self.opened else None
        return once_opened or table.get("gate")

    def against_mains(self, power: str, cover: str, checklist: Checklist) -> list[str]:
        """All that is up or unsigned against a power, with the cover as it is."""
        entry = "limited-power" if self.opened else "first-power"
        live = self.up("live", checklist) if cover == "off" else []
        gate = entry if power == "limited" else "full-power"
        return [*self.up(power, checklist), *live, *self.missing(gate, checklist)]
