"""Typical units: how long their gates are, and which hazards they are asked for.

`[known]` of a `*.units.toml` says which facts are known when: `always`; `sparse`, at the telephone;
`medium`, at the counter with the rating plate read. All facts of a unit are its full form.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median_low

from checklists.engine.deduced import with_deduced
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import Facts, accept
from checklists.engine.words import EXPOSURES, FULL, GATES

LONGEST_GATE = 9  # cards; longer lists get skipped
SPARSE, MEDIUM, WHOLE = "sparse", "medium", "full"


@dataclass(frozen=True, slots=True)
class Form:
    """A typical unit with as much of it as is known at some time."""

    unit: str
    level: str
    facts: Facts

    @property
    def name(self) -> str:
        """The unit and how much is known of it."""
        return self.unit if self.level == WHOLE else f"{self.unit} ({self.level})"


@dataclass(frozen=True, slots=True, order=True)
class Length:
    """What a person signs at a gate: in how many cards, and how many hold steps."""

    cards: int
    holds: int

    def __str__(self) -> str:
        return f"{self.cards}/{self.holds}"


def units(folder: Path) -> dict[str, Facts]:
    """Return the units of `*.units.toml` by name, all known; FactError when one of them is wrong."""
    return {form.unit: form.facts for form in forms(folder) if form.level == WHOLE}


def forms(folder: Path) -> list[Form]:
    """Return every unit in each form that its file tells; FactError when one of them is wrong."""
    found: list[Form] = []
    for file in sorted(folder.glob("*.units.toml")):
        content = tomllib.loads(file.read_text(encoding="utf-8"))
        known = content.get("known", {})
        for unit in content.get("unit", []):
            whole = accept({**content.get("base", {}), **unit["facts"]})
            found += [Form(unit["name"], *one) for one in _forms(whole, known)]
    return found


def _forms(whole: Facts, known: dict[str, list[str]]) -> Iterator[tuple[str, Facts]]:
    """Yield a unit with less and less left out; what is known early is known later as well."""
    names = set(known.get("always", ()))
    for level in (SPARSE, MEDIUM):
        if level in known:
            names |= set(known[level])
            yield level, {name: value for name, value in whole.items() if name in names}
    yield WHOLE, whole


def lengths(pack: Pack, facts: Facts) -> dict[str, Length]:
    """Return how long each gate is for a unit, closed or open, whichever is longer."""
    longest = dict.fromkeys(GATES, Length(0, 0))
    for cover in (facts.get("job.cover", "on"), "off"):
        checklist = derive(pack, with_deduced({**facts, "job.cover": cover}))
        for gate in GATES:
            here = Length(len(checklist.cards(gate)), len(checklist.gate(gate)))
            longest[gate] = max(longest[gate], here)
    return longest


def long_gates(pack: Pack, folder: Path) -> list[str]:
    """Return a line for each gate of a typical unit that is too long to be passed."""
    return [
        f"{gate} of {form.name}: {length.cards} cards"
        for form in forms(folder)
        for gate, length in lengths(pack, form.facts).items()
        if length.cards > LONGEST_GATE
    ]


def table(pack: Pack, folder: Path) -> list[str]:
    """Return in lines how long each gate of each form is, and what is usual and longest at each."""
    rows = [(form, list(lengths(pack, form.facts).values())) for form in forms(folder)]
    if not rows:
        return []
    lines = ["Cards/hold steps at " + ", ".join(GATES) + ", closed or open, whichever is more:"]
    for form, row in rows:
        lines.append("  " + " ".join(f"{length!s:>5}" for length in row) + f"  {form.name}")
    for level in dict.fromkeys(form.level for form, _ in rows):
        columns = zip(*(row for form, row in rows if form.level == level), strict=True)
        lines.append(
            f"  {' '.join(f'{_usual(column):>5}' for column in columns)}  {level}: usual-longest, cards"
        )
    return lines


def _usual(column: tuple[Length, ...]) -> str:
    cards = [length.cards for length in column]
    return f"{median_low(cards)}-{max(cards)}"


def asked(pack: Pack, facts: Facts) -> dict[str, frozenset[str]]:
    """Return the hazards that a unit has over its whole job, by the exposure that they meet.

    The job of every unit: it comes, mains is on, it is opened, what `facts` tell is found and done,
    it is closed, and mains is on again.
    """
    checklist = derive(pack, with_deduced(facts), _a_whole_job(facts))
    return {
        exposure: frozenset(
            one.hazard.key for one in checklist.armed if exposure in one.hazard.meets
        )
        for exposure in EXPOSURES
    }


def _a_whole_job(facts: Facts) -> History:
    told = [{"event_type": "fact_recorded", "fact": n, "value": v} for n, v in facts.items()]
    found = [
        {"event_type": "finding_recorded", "finding": word} for word in _words(facts, "findings")
    ]
    done = [{"event_type": "work_done", "work": word} for word in _words(facts, "work")]
    on, opened = {"event_type": "power_applied", "power": FULL}, {"event_type": "cover_removed"}
    closed = {"event_type": "cover_fitted"}
    rows = [{"event_type": "received"}, *told, on, opened, *found, *done, closed, on]
    return History.of(Event(sequence=n, **row) for n, row in enumerate(rows, 1))  # type: ignore[arg-type]


def _words(facts: Facts, name: str) -> list[str]:
    value = facts.get(name)
    return value if isinstance(value, list) else []
