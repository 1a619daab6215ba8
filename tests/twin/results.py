"""Results of walks: a line of JSON for each seed in a folder, and the table of all of them."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

from tests.twin.walk import Tally


def done(folder: Path) -> dict[int, Tally]:
    """Return the tally of every seed on record; a line that was cut short counts as not done."""
    found: dict[int, Tally] = {}
    for file in sorted(folder.glob("*.jsonl")):
        for line in file.read_text(encoding="utf-8").splitlines():
            try:
                kept = json.loads(line)
            except ValueError:
                continue
            found[kept["seed"]] = Tally.from_dict(kept["tally"])
    return found


def keep(folder: Path, seed: int, tally: Tally) -> None:
    """Append one seed; a line break first ends a line that was cut short."""
    file = folder / "seeds.jsonl"
    with file.open("a", encoding="utf-8") as out:
        out.write(f"\n{json.dumps({'seed': seed, 'tally': tally.as_dict()})}\n")


def table(tally: Tally) -> str:
    """The figures as text, most frequent first."""
    refused = tally.refused.total()
    lines = [
        f"seeds              {tally.seeds:9,}",
        f"moves tried        {tally.tried:9,}   (unknown to the shop: {tally.unknown:,})",
        f"accepted           {tally.accepted:9,}",
        f"moves that hurt    {tally.hurting:9,}   {_share(tally.hurting, tally.accepted)} of accepted moves",
        *_rows(tally.harms),
        f"harmless refused   {refused:9,}   {_share(refused, tally.harmless)} of harmless moves",
        *_rows(tally.refused),
        f"asked and refused  {tally.asked_refused.total():9,}   (mains, cover, stage, waiver)",
        *_rows(tally.asked_refused, most=6),
        f"units received     {tally.units:9,}",
        f"units released     {tally.released:9,}   handed back {tally.withdrawn:,}",
    ]
    return "\n".join(lines)


def _rows(counter: Counter[str], most: int = 20) -> list[str]:
    return [f"  {count:9,}   {name}" for name, count in counter.most_common(most)]


def _share(part: int, whole: int) -> str:
    return f"{part / whole:.2%}" if whole else "none"
