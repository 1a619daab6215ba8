"""Which fact is worth asking first: the one that takes most holds of the next gate away."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from checklists.engine import candidates, cel
from checklists.engine.deduced import with_deduced
from checklists.engine.vocabulary import VOCABULARY, Value
from checklists.engine.words import FULL, ISOLATED, LIMITED

if TYPE_CHECKING:
    from checklists.engine.checklist import Checklist, ListedStep


@dataclass(frozen=True, slots=True)
class Ask:
    """A fact that is not recorded, and how many holds of the next gate one answer takes away."""

    fact: str
    holds: int

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"fact": self.fact, "holds": self.holds}


def next_gate(checklist: Checklist) -> str | None:
    """Return the first gate on the way to release that is shut; by cover, power, and what was done."""
    return next((gate for gate in _way(checklist) if checklist.unmet(gate)), None)


def _way(checklist: Checklist) -> tuple[str, ...]:
    power = str(checklist.facts.get("job.power", ISOLATED))
    entry = "limited-power" if checklist.opened else "first-power"
    hands = ("hands-in",) if checklist.facts.get("job.cover") == "off" else ()
    ways = {FULL: (), LIMITED: ("full-power",)}
    return (*ways.get(power, (*hands, entry, "full-power")), "soak", "release")


def asks(checklist: Checklist) -> list[Ask]:
    """Return the facts that take holds of the next gate away, the one that takes most first.

    Only what nobody recorded and somebody can. Counted is the answer that takes most away, alone.
    """
    gate = next_gate(checklist)
    unsure = [step for step in checklist.unmet(gate) if _hangs(step, checklist)] if gate else []
    most: dict[str, int] = {}
    for name, fallen in _fallen(unsure, checklist):
        most[name] = max(most.get(name, 0), fallen)
    places = {name: place for place, name in enumerate(VOCABULARY)}
    ranked = sorted(most.items(), key=lambda one: (-one[1], places[one[0]]))
    return [Ask(name, holds) for name, holds in ranked]


def _hangs(step: ListedStep, checklist: Checklist) -> bool:
    """Whether facts alone can take it off the list: not what failed, nor what an event raised."""
    raised = {key for one in checklist.armed if one.raised for key in one.hazard.listed_steps}
    return step.undetermined and step.key not in raised | checklist.failed


def _fallen(steps: list[ListedStep], checklist: Checklist) -> Iterator[tuple[str, int]]:
    """Yield each fact with how many of the steps one value of it takes away."""
    for name, values in _values(steps, checklist).items():
        reading = [step for step in steps if any(name in r.missing for r in step.reasons)]
        for value in values.values():
            bound = cel.Bound(with_deduced({**checklist.facts, name: value}))
            fallen = sum(_falls(step, bound) for step in reading)
            if fallen:
                yield name, fallen


def _values(steps: Iterable[ListedStep], checklist: Checklist) -> dict[str, dict[Hashable, Value]]:
    """Return for each fact that the steps miss the values that decide something there."""
    found: dict[str, dict[Hashable, Value]] = {}
    for step in steps:
        for reason in step.reasons:
            for name in reason.missing:
                if not VOCABULARY[name].computed:
                    tree = reason.rule.condition.tree
                    for value in candidates.of(name, tree, checklist.facts):
                        found.setdefault(name, {})[str(value)] = value
    return found


def _falls(step: ListedStep, bound: cel.Bound) -> bool:
    return all(r.rule.condition.outcome(bound) is cel.Outcome.MISS for r in step.reasons)


def missing(checklist: Checklist, asked: list[Ask]) -> list[str]:
    """Return facts not recorded that matter, those asked first; then what most holds read.

    What only a service step hangs on comes last.
    """
    ranks = {ask.fact: -ask.holds for ask in asked}
    of_holds = Counter(n for s in checklist.steps if s.step.hold for n in s.missing)
    of_all = Counter(name for step in checklist.steps for name in step.missing)
    names = [name for name in of_all if not VOCABULARY[name].computed]
    return sorted(names, key=lambda n: (ranks.get(n, 0), -of_holds[n], -of_all[n], n))


def undecided(checklist: Checklist) -> dict[str, list[ListedStep]]:
    """Return the open service steps that hang on a fact, by the fact that is asked first."""
    places = {name: place for place, name in enumerate(checklist.missing_facts)}
    folded: dict[str, list[ListedStep]] = {}
    for step in checklist.steps:
        known = sorted(step.missing & places.keys(), key=places.__getitem__)
        if known and step.undetermined and not step.step.hold and step.state == "due":
            folded.setdefault(known[0], []).append(step)
    return dict(sorted(folded.items(), key=lambda one: places[one[0]]))
