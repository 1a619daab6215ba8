"""Results of walks: a line of JSON for each seed in a folder, a file for each sort of walk."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


def done(folder: Path, sort: Any) -> dict[int, Any]:
    """Return what is on record of every seed; a line that was cut short counts as not done."""
    found: dict[int, Any] = {}
    file = folder / sort.file
    for line in file.read_text(encoding="utf-8").splitlines() if file.exists() else ():
        try:
            kept = json.loads(line)
        except ValueError:
            continue
        found[kept["seed"]] = sort.from_dict(kept["tally"])
    return found


def keep(folder: Path, seed: int, tally: Any) -> None:
    """Append one seed; a line break first ends a line that was cut short."""
    file = folder / tally.file
    with file.open("a", encoding="utf-8") as out:
        out.write(f"\n{json.dumps({'seed': seed, 'tally': tally.as_dict()})}\n")
