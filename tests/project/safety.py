"""Prints the table of hazards and the analysis of what can go wrong into docs/safety.md.

`python -m tests.project.safety` writes both between their marks.
"""

from __future__ import annotations

from pathlib import Path

from checklists.engine import reading_packs, stpa
from checklists.engine.hazards import Hazard
from checklists.engine.stpa import Action, Analysis, Row
from checklists.engine.words import EXPOSURES

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "safety.md"
PACKS = ROOT / "checklists" / "packs"


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
    return f"| `{hazard.key}` | {hazard.title} | {'; '.join(raised)} | {cleared} | {meets} |"


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
    """Return the page with both parts made anew; ValueError when a mark is gone."""
    for name, made in {"hazards": hazards, "analysis": analysis}.items():
        begin, end = f"<!-- {name}: generated -->\n", f"<!-- end of {name} -->\n"
        before, mark, rest = text.partition(begin)
        if not mark or end not in rest:
            raise ValueError(f"{PAGE} has lost the marks around the {name}.")
        text = before + begin + "\n" + made() + "\n" + end + rest.partition(end)[2]
    return text


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
