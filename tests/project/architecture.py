"""Draws the rooms of the shop from the import contract and the imports as they are.

`python -m tests.project.architecture` writes the drawing into docs/architecture.md.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "architecture.md"
BEGIN, END = "<!-- rooms: generated -->\n", "<!-- end of rooms -->\n"


def layers() -> list[list[str]]:
    """Return the rooms, the top layer first, as the contract has them."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        contracts = tomllib.load(file)["tool"]["importlinter"]["contracts"]
    rooms = next(c["layers"] for c in contracts if c["name"] == "Rooms stack in one direction")
    return [re.split(r"\s*[|:]\s*", layer) for layer in rooms]


def arrows() -> dict[str, set[str]]:
    """Return which rooms each room imports."""
    found: dict[str, set[str]] = defaultdict(set)
    for file in sorted((ROOT / "shop").rglob("*.py")):
        room = file.relative_to(ROOT / "shop").parts[0]
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("shop"):
                words = (node.module or "").split(".")
                names = [words[1]] if len(words) > 1 else [alias.name for alias in node.names]
                found[room].update(set(names) - {room})
    return found


def purpose(room: str) -> str:
    """Return the first line of a room's docstring."""
    tree = ast.parse((ROOT / "shop" / room / "__init__.py").read_text(encoding="utf-8"))
    return (ast.get_docstring(tree) or "").partition("\n")[0]


def drawing() -> str:
    """Return the table of rooms, the top one first."""
    found = arrows()
    order = [room for layer in layers() for room in layer]
    lines = ["| room | what it is | it imports |", "| --- | --- | --- |"]
    for layer in layers():
        for room in layer:
            below = ", ".join(sorted(found[room], key=order.index))
            lines.append(f"| **{room}** | {purpose(room)} | {below or '-'} |")
    count = sum(len(found[room]) for room in order)
    return "\n".join([*lines, "", f"{len(order)} rooms, {count} arrows, all downward.", ""])


def page(text: str) -> str:
    """Return the page with its drawing made anew."""
    before, begin, rest = text.partition(BEGIN)
    if not begin or END not in rest:
        raise ValueError(f"{PAGE} has lost the marks around the drawing.")
    return before + BEGIN + "\n" + drawing() + "\n" + END + rest.partition(END)[2]


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
