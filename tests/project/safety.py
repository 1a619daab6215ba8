"""Prints tables into docs/safety.md: the hazards, what usual units are asked for, what can go wrong.

`python -m tests.project.safety` writes them between their marks.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

from checklists.engine import reading_packs, stpa, typical
from checklists.engine.hazards import Hazard
from checklists.engine.stpa import Action, Analysis, Row
from checklists.engine.words import EXPOSURES

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "safety.md"
PACKS = ROOT / "checklists" / "packs"
BEFORE = Path(__file__).with_name("hazards-before.toml")
LEVELS = (typical.SPARSE, typical.MEDIUM, typical.WHOLE)


def hazards() -> str:
    """Return the table of hazards in the order of the pack."""
    pack = reading_packs.load(PACKS)
    lines = [
        "| hazard | in words | raised by | cleared by | meets |",
        "| --- | --- | --- | --- | --- |",
        *(_hazard(hazard) for hazard in pack.hazards),
    ]
    met = sum(len(hazard.meets) for hazard in pack.hazards)
    return "\n".join(
        [*lines, "", f"{len(pack.hazards)} hazards, asked for {met} times in all.", ""]
    )


def _hazard(hazard: Hazard) -> str:
    raised = ["arrival"] if hazard.on_arrival else []
    raised += [trigger.sentence() for trigger in hazard.raised_by]
    joint = " or " if hazard.any_clears else ", "
    cleared = joint.join(f"`{key}`" for key in hazard.cleared_by)
    meets = ", ".join(name for name in EXPOSURES if name in hazard.meets)
    more = ", ".join(name for name in EXPOSURES if name in hazard.meets_failed)
    meets += f"; once failed {more}" if more else ""
    return f"| `{hazard.key}` | {hazard.title} | {'; '.join(raised)} | {cleared} | {meets} |"


def before() -> dict[str, Any]:
    """Return what usual units were asked for before lists were made shorter."""
    return tomllib.loads(BEFORE.read_text(encoding="utf-8"))


def fewer() -> set[tuple[str, str, str]]:
    """Return each (unit, hazard, exposure) that was asked before and is not now."""
    then, pack = before(), reading_packs.load(PACKS)
    now = {form.name: typical.asked(pack, form.facts) for form in typical.forms(PACKS)}
    return {
        (name, hazard, exposure)
        for name, hazards_then in then["units"].items()
        for hazard in hazards_then.split()
        for exposure in then["meets"][hazard]
        if hazard not in now[name][exposure]
    }


def asked() -> str:
    """Return how many hazards the usual units are asked for at each exposure, then and now."""
    then, pack, counts = before(), reading_packs.load(PACKS), Counter[tuple[str, str, str]]()
    known = [form for form in typical.forms(PACKS) if form.name in then["units"]]
    for form in known:
        for hazard in then["units"][form.name].split():
            counts.update(("then", form.level, exposure) for exposure in then["meets"][hazard])
        for exposure, keys in typical.asked(pack, form.facts).items():
            counts["now", form.level, exposure] += len(keys)
    head = " | ".join(f"{level}, before | {level}, now" for level in LEVELS)
    lines = [f"| exposure | {head} |", "| --- |" + " --- | --- |" * len(LEVELS)]
    for exposure in EXPOSURES:
        pairs = [counts[when, level, exposure] for level in LEVELS for when in ("then", "now")]
        lines.append(f"| `{exposure}` | {' | '.join(map(str, pairs))} |")
    gone = [f"* Gone on purpose: `{key}`. {why}" for key, why in then["gone"].items()]
    units = len(known) // len(LEVELS)
    return "\n".join([f"Sums over {units} units.", "", *lines, "", *gone, ""])


def analysis() -> str:
    """Return every row of the analysis, one table for each action."""
    table = stpa.read(PACKS)
    if table is None:
        raise ValueError(f"{PACKS} has no analysis.")
    closed = len(table.rows) - table.left_open
    head = [f"{len(table.rows)} rows: {closed} are refused, {table.left_open} are open.", ""]
    losses = [f"* *{loss.key}*: {loss.says}" for loss in table.losses]
    return "\n".join([*head, *losses, "", *(_action(table, one) for one in table.actions)])


def _action(table: Analysis, action: Action) -> str:
    head = [
        f"### {action.title}",
        "",
        "| way | what happens | lost | believed, recorded, true | answer |",
        "| --- | --- | --- | --- | --- |",
    ]
    order = list(stpa.WAYS)
    rows = sorted(
        (row for row in table.rows if row.action == action.key), key=lambda r: order.index(r.way)
    )
    return "\n".join([*head, *(_row(row) for row in rows), ""])


def _row(row: Row) -> str:
    causes = f"Believed: {row.believes} Recorded: {row.record} True: {row.truth}"
    answer = f"refused: `{row.replay}` (by `{row.by}`)" if row.replay else f"**open**: {row.open}"
    losses = ", ".join(row.losses)
    return f"| {stpa.WAYS[row.way]} | {row.happens} | {losses} | {causes} | {answer} |"


def page(text: str) -> str:
    """Return the page with its parts made anew; ValueError when a mark is gone."""
    for name, made in {"hazards": hazards, "asked": asked, "analysis": analysis}.items():
        begin, end = f"<!-- {name}: generated -->\n", f"<!-- end of {name} -->\n"
        before, mark, rest = text.partition(begin)
        if not mark or end not in rest:
            raise ValueError(f"{PAGE} has lost the marks around the {name}.")
        text = before + begin + "\n" + made() + "\n" + end + rest.partition(end)[2]
    return text


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
