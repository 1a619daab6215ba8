"""Which hazards a unit has: what its facts leave possible, and what its history raised.

As with rules: hazards that read the same facts are one group, and only values never seen before
cost an evaluation. So what a large pack says of other kinds of unit costs nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from checklists.engine.cel import Bound, Outcome
from checklists.engine.hazards import Armed, Hazard
from checklists.engine.history import Event, History
from checklists.engine.prefilter import may_match, required_words
from checklists.engine.vocabulary import Facts, Value

MOST_KEPT = 4096  # sets of values of one group, then it starts anew
Key = tuple[object, ...]
Place = tuple[int, Hazard]


@dataclass(slots=True)
class _Group:
    """Hazards that read the same facts."""

    names: tuple[str, ...]
    hazards: list[tuple[int, Hazard, dict[str, frozenset[str]]]] = field(default_factory=list)
    outcomes: dict[Key, dict[int, Outcome]] = field(default_factory=dict)

    def on(self, facts: Mapping[str, Value]) -> dict[int, Outcome]:
        """Return the places of those that are possible, each with its outcome."""
        values = [facts.get(name) for name in self.names]
        key = tuple([tuple(value) if isinstance(value, list) else value for value in values])
        found = self.outcomes.get(key)
        if found is None:
            if len(self.outcomes) >= MOST_KEPT:
                self.outcomes.clear()
            known = {n: v for n, v in zip(self.names, values, strict=True) if v is not None}
            found = self.outcomes[key] = self._work_out(known)
        return found

    def _work_out(self, facts: Mapping[str, Value]) -> dict[int, Outcome]:
        bound = Bound(facts)
        outcomes = {
            place: hazard.possible.outcome(bound)
            for place, hazard, words in self.hazards
            if may_match(words, facts)
        }
        return {place: outcome for place, outcome in outcomes.items() if outcome != Outcome.MISS}


class PossibleHazards:
    """The hazards of a pack, by what is possible."""

    def __init__(self, hazards: tuple[Hazard, ...]) -> None:
        self.hazards = hazards
        self.place = {hazard.key: place for place, hazard in enumerate(hazards)}
        groups: dict[tuple[str, ...], _Group] = {}
        self._group_of: list[_Group] = []
        for place, hazard in enumerate(hazards):
            names = tuple(sorted(hazard.possible.names))
            group = groups.setdefault(names, _Group(names))
            group.hazards.append((place, hazard, required_words(hazard.possible.tree)))
            self._group_of.append(group)
        self._groups = tuple(groups.values())

    def on(self, facts: Mapping[str, Value]) -> Iterator[tuple[Place, Outcome]]:
        """Yield every hazard that is not plainly impossible, with its outcome."""
        for group in self._groups:
            for place, outcome in group.on(facts).items():
                yield (place, self.hazards[place]), outcome

    def is_possible(self, place: int, facts: Mapping[str, Value]) -> bool:
        """Tell whether a hazard is not plainly impossible for these facts."""
        return place in self._group_of[place].on(facts)


def armed(
    possible: PossibleHazards,
    facts: Mapping[str, Value],
    history: History,
    raised_by: Callable[[Event], frozenset[str]],
) -> tuple[Armed, ...]:
    """Return the hazards that a unit of these facts and this history has, in the table's order.

    `raised_by` gives the keys that an event raises.
    """
    raisers: dict[str, list[Event]] = {}
    for event in history.others:
        for key in raised_by(event) | event.carried:
            raisers.setdefault(key, []).append(event)
    found = {}
    for (place, hazard), outcome in possible.on(facts):
        raised = hazard.key in raisers
        if hazard.on_arrival or raised:
            found[place] = Armed(hazard, raised, raised or outcome is Outcome.HIT)
    for key, events in raisers.items():
        at = possible.place.get(key)  # a key that came with the unit may be of another edition
        if at is None or at in found:
            continue
        if _sticks(possible, at, events, facts, history):
            found[at] = Armed(possible.hazards[at], raised=True, certain=True)
    return tuple(found[place] for place in sorted(found))


def _sticks(
    possible: PossibleHazards,
    place: int,
    events: list[Event],
    facts: Mapping[str, Value],
    history: History,
) -> bool:
    """Whether it was possible when an event raised it, whatever the facts say since."""
    hazard = possible.hazards[place]
    if hazard.follows_record:
        return False
    return any(
        hazard.key in event.carried
        or possible.is_possible(place, _then(hazard, event, facts, history))
        for event in events
    )


def _then(hazard: Hazard, event: Event, facts: Mapping[str, Value], history: History) -> Facts:
    return history.facts_at(event.sequence, hazard.possible.names, facts)
