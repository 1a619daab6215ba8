"""Derive against the bare evaluation of the same conditions, and against a pack 25 times larger.

Run by `make bench`. Budgets (docs/decisions.md): at most 3 for both ratios.
"""

from __future__ import annotations

import os
import re
import statistics
import tempfile
import timeit
from pathlib import Path

os.environ.setdefault("BENCHTAG_DATA", tempfile.mkdtemp(prefix="benchtag-bench-"))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")

from checklists.engine import cel, reading_packs
from checklists.engine.derive import cache_of, derive
from checklists.engine.vocabulary import VOCABULARY
from tests.helpers_plain import amplifier

PACK = Path(__file__).resolve().parents[2] / "checklists" / "packs"
TIMES = 25
KEY = re.compile(r'"([a-z-]+)"')
ROUNDS, PER_ROUND = 15, 40


def microseconds(act) -> float:
    """Median over rounds, so that one busy moment of the machine does not count."""
    act()
    runs = timeit.repeat(act, number=PER_ROUND, repeat=ROUNDS)
    return statistics.median(runs) / PER_ROUND * 1e6


def larger_pack(folder: Path) -> Path:
    """Copy the pack and add 24 more of it whose rules speak of other kinds of unit."""
    others = [kind for kind in VOCABULARY["unit.kind"].words if kind != "integrated-amplifier"]
    for file in PACK.glob("*.toml"):
        if not reading_packs.holds_rules(file):
            continue
        text = file.read_text(encoding="utf-8")
        (folder / file.name).write_text(text, encoding="utf-8")
        if "[[card]]" in text:
            continue  # the copies of its steps go on its cards
        for copy in range(TIMES - 1):
            (folder / f"{file.stem}-{copy}.toml").write_text(
                renamed(text, copy, others[copy % len(others)]), encoding="utf-8"
            )
    return folder


def renamed(text: str, copy: int, kind: str) -> str:
    suffixed = rf'"\1-{copy}"'
    # A role is given once; the copies are steps like others.
    text = re.sub(r'^role = .*\n|(?<=, )role = "[a-z-]+", ', "", text, flags=re.M)
    text = re.sub(r"\[pack\]\nname.*\nversion.*\n", "", text)
    text = re.sub(r'^(id|key) = "(.+)"', rf'\1 = "\2-{copy}"', text, flags=re.M)
    text = re.sub(
        r"^(require|after|cleared_by|needs_steps|instead_of) = \[(.*)\]",
        lambda m: f"{m[1]} = [{KEY.sub(suffixed, m[2])}]",
        text,
        flags=re.M,
    )
    text = re.sub(r'step = "([a-z-]+)"', rf'step = "\1-{copy}"', text)
    return re.sub(
        r"^(when|possible) = '(.*)'",
        rf"""\1 = 'unit.kind == "{kind}" && (\2)'""",
        text,
        flags=re.M,
    )


def main() -> None:
    pack = reading_packs.load(PACK)
    facts = amplifier() | {"findings": ["compound-dry"], "work": ["thermal-interface-renewed"]}
    facts |= {"job.cover": "on", "job.returned": False}

    def bare() -> None:
        bound = cel.Bound(facts)
        for rule in pack.rules:
            rule.condition.outcome(bound)

    with tempfile.TemporaryDirectory() as folder:
        large = reading_packs.load(larger_pack(Path(folder)))

        def anew(rules):
            # A unit seen before is looked up whole; what the budget is about is working one out.
            cache_of(rules)._units.clear()
            derive(rules, facts)

        floor, small = microseconds(bare), microseconds(lambda: anew(pack))
        big = microseconds(lambda: anew(large))
    print(f"bare evaluation of {len(pack.rules)} conditions  {floor:8.0f} us")
    print(f"derive, {len(pack.rules)} rules                   {small:8.0f} us")
    print(f"derive, {len(large.rules)} rules                 {big:8.0f} us")
    print(f"derive / bare evaluation               {small / floor:8.2f}   (budget 3)")
    print(f"derive on {TIMES} x the rules / derive        {big / small:8.2f}   (budget 3)")


if __name__ == "__main__":
    main()
