"""Which hazards a unit has: what its facts leave possible, and what its history raised."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from checklists.engine.deciding import Conditions, Values, hashable, places, unfrozen
from checklists.engine.hazards import Armed, Hazard
from checklists.engine.history import Event, History
from checklists.engine.vocabulary import Facts, Value

OnArrival = Mapping[int, Armed]


class PossibleHazards:
    """The hazards of a pack, by what is possible."""

    def __init__(self, hazards: tuple[Hazard, ...]) -> None:
        self.hazards = hazards
        self.place = {hazard.key: place for place, hazard in enumerate(hazards)}
        self._conditions = Conditions([hazard.possible for hazard in hazards])
        self._come_along = sum(h.on_arrival << place for place, h in enumerate(hazards))
        # There is one of each, so that they are compared by identity.
        self._doubtful = [Armed(hazard, raised=False, certain=False) for hazard in hazards]
        self._certain = [Armed(hazard, raised=False, certain=True) for hazard in hazards]
        self.raised = [Armed(hazard, raised=True, certain=True) for hazard in hazards]

    def on_arrival(self, values: Values) -> OnArrival:
        """Return what a unit of these facts comes with, by place: all that is not plainly impossible."""
        possible, hit = self._conditions.decide(values)
        return {
            place: (self._certain if hit >> place & 1 else self._doubtful)[place]
            for place in places(possible & self._come_along)
        }

    def is_possible(self, place: int, values: Values) -> bool:
        """Tell whether a hazard is not plainly impossible for these facts."""
        return self._conditions.is_possible(place, values)


def armed(
    possible: PossibleHazards,
    on_arrival: OnArrival,
    values: Values,
    history: History,
    raisers: Mapping[str, Sequence[Event]],
) -> tuple[Armed, ...]:
    """Return the hazards that a unit of these facts and this history has, in the table's order.

    `raisers` are the events that raise a hazard, by its key.
    """
    found, facts = dict(on_arrival), unfrozen(values) if raisers else {}
    for key, events in raisers.items():
        at = possible.place.get(key)  # a key that came with the unit may be of another edition
        if at is None:
            continue
        now = at in found or possible.is_possible(at, values)
        if now or _sticks(possible, at, events, facts, history):
            found[at] = possible.raised[at]
    return tuple([found[place] for place in sorted(found)])


def _sticks(
    possible: PossibleHazards,
    place: int,
    events: Sequence[Event],
    facts: Mapping[str, Value],
    history: History,
) -> bool:
    """Whether it was possible when an event raised it, whatever the facts say since."""
    hazard = possible.hazards[place]
    if hazard.follows_record:
        return False
    return any(
        hazard.key in event.carried
        or possible.is_possible(place, hashable(_then(hazard, event, facts, history)))
        for event in events
    )


def _then(hazard: Hazard, event: Event, facts: Mapping[str, Value], history: History) -> Facts:
    return history.facts_at(event.sequence, hazard.possible.names, facts)
