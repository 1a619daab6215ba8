"""Cases beside a pack: facts in, exact step keys out.

A file `power.cases.toml` judges the rules of `power.toml` alone, so that its lists stay
short. `[base]` gives facts that every case starts from; a case's own facts go on top, and
`without` takes facts away. `limits` says what a reading is judged by, "step/quantity" to `min` and
`max`; a case with limits needs no steps. Every rule needs a case that hits it and one that misses it.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from checklists.engine.cel import Bound, Outcome
from checklists.engine.checklist import Checklist
from checklists.engine.derive import derive
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import FactError, Facts, accept

HISTORIES = "hazards*.cases.toml"  # histories of events: no steps are listed there
_CASE_KEYS = {"name", "facts", "without", "steps", "undetermined", "limits"}


@dataclass
class Report:
    """What running the cases of a folder showed: how many, and a sentence for each fault."""

    cases: int = 0
    problems: list[str] = field(default_factory=list)


def run(pack: Pack, folder: Path) -> Report:
    """Run every case of the folder against the pack and look for rules that no case decides."""
    report = Report()
    seen: dict[str, set[Outcome]] = {rule.id: set() for rule in pack.rules}
    for file in sorted(folder.glob("*.cases.toml")):
        if file.match(HISTORIES):
            continue
        part = _only_file(pack, file.name.removesuffix(".cases.toml"))
        for name, facts, case in _cases(file, report):
            report.cases += 1
            bound = Bound(facts)
            for rule in part.rules:
                seen[rule.id].add(rule.condition.outcome(bound))
            report.problems += _judge(part, f"{file.name}: {name}", facts, case)
    report.problems += list(_undecided(pack, seen))
    return report


def _only_file(pack: Pack, stem: str) -> Pack:
    rules = tuple(rule for rule in pack.rules if rule.file == stem)
    return replace(pack, rules=rules, hazards=(), raw={**pack.raw, "only": stem})


def _cases(file: Path, report: Report) -> Iterator[tuple[str, Facts, dict[str, Any]]]:
    content = tomllib.loads(file.read_text(encoding="utf-8"))
    base = content.get("base", {})
    for case in content.get("case", []):
        name = str(case.get("name", "(unnamed)"))
        stray = case.keys() - _CASE_KEYS
        if stray:
            report.problems.append(f"{file.name}: {name}: {', '.join(sorted(stray))} unknown.")
        given = {**base, **case.get("facts", {})}
        wanted = {key: value for key, value in given.items() if key not in case.get("without", ())}
        try:
            yield name, accept(wanted), case
        except FactError as error:
            report.problems.append(f"{file.name}: {name}: {error}")


def _judge(part: Pack, name: str, facts: Facts, case: dict[str, Any]) -> Iterator[str]:
    checklist = derive(part, facts)
    yield from _judge_limits(checklist, name, case.get("limits", {}))
    if "steps" not in case and "limits" in case:
        return
    got = [step.key for step in checklist.steps]
    if sorted(got) != sorted(case["steps"]):
        yield f"{name}: gives {', '.join(got) or 'nothing'}; wanted {', '.join(case['steps'])}."
    unsure = sorted(step.key for step in checklist.steps if step.undetermined)
    if unsure != sorted(case.get("undetermined", [])):
        yield f"{name}: undetermined are {', '.join(unsure) or 'none'}."


def _judge_limits(
    checklist: Checklist, name: str, limits: dict[str, dict[str, float]]
) -> Iterator[str]:
    for place, wanted in limits.items():
        key, _, quantity = place.partition("/")
        listed = checklist.by_key.get(key)
        reading = {r.quantity: r for r in listed.readings}.get(quantity) if listed else None
        if reading is None:
            yield f"{name}: {place} is read nowhere here."
            continue
        for end, got in (("min", reading.low), ("max", reading.high)):
            if end in wanted and (got is None or not math.isclose(got, wanted[end], rel_tol=1e-6)):
                yield f"{name}: {place} has {end} {got}; wanted {wanted[end]:g}."


def _undecided(pack: Pack, seen: dict[str, set[Outcome]]) -> Iterator[str]:
    for rule in pack.rules:
        outcomes = seen[rule.id]
        if Outcome.HIT not in outcomes:
            yield f"Rule {rule.id}: no case hits it."
        if Outcome.MISS not in outcomes and rule.condition.names:
            yield f"Rule {rule.id}: no case misses it."
