"""Which hazards a unit has, decided at once: the same as asked one by one."""

from __future__ import annotations

from hypothesis import given, settings

from checklists import published
from checklists.engine import cel
from checklists.engine.arming import PossibleHazards, armed
from checklists.engine.deciding import hashable
from checklists.engine.history import Event, History
from checklists.engine.vocabulary import Facts
from tests.helpers_plain import examples
from tests.jobs.next_act.units import facts

SHIPPED = PossibleHazards(published.pack().hazards)


def naive(given_facts: Facts) -> dict[str, cel.Outcome]:
    bound = cel.Bound(given_facts)
    outcomes = {h.key: h.possible.outcome(bound) for h in SHIPPED.hazards}
    return {key: outcome for key, outcome in outcomes.items() if outcome != cel.Outcome.MISS}


@settings(max_examples=examples(60))
@given(facts())
def test_what_is_possible_is_the_same_as_asked_one_by_one(given_facts):
    said, values = naive(given_facts), hashable(given_facts)
    for place, hazard in enumerate(SHIPPED.hazards):
        assert SHIPPED.is_possible(place, values) == (hazard.key in said)
    came = {one.hazard.key: one.certain for one in SHIPPED.on_arrival(values).values()}
    on_arrival = {hazard.key for hazard in SHIPPED.hazards if hazard.on_arrival}
    assert came == {k: said[k] is cel.Outcome.HIT for k in said.keys() & on_arrival}


def finding(word: str) -> History:
    event = Event(sequence=3, event_type="finding_recorded", finding=word)
    return History.of([event])


def keys(given_facts: Facts, history: History) -> list[str]:
    values, raised_by = hashable(given_facts), published.pack().raised_by
    hazards = armed(SHIPPED, SHIPPED.on_arrival(values), values, history, raised_by)
    return [one.hazard.key for one in hazards]


def test_they_come_in_the_order_of_the_table_and_each_once():
    found = keys({}, finding("insulator-cracked"))
    assert len(set(found)) == len(found)
    assert found == sorted(found, key=SHIPPED.place.__getitem__)


def test_a_hazard_of_another_edition_that_came_with_the_unit_is_no_hazard_here():
    came = Event(sequence=1, event_type="received", carried=frozenset({"gone"}))
    assert "gone" not in keys({}, History.of([came]))
