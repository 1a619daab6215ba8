"""Which hazards a unit has, decided at once: the same as asked one by one."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from checklists import published
from checklists.engine import cel
from checklists.engine.arming import PossibleHazards, armed
from checklists.engine.deciding import hashable
from checklists.engine.derive import cache_of
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
    values, raisers = hashable(given_facts), dict[str, list[Event]]()
    for event in history.others:
        for key in published.pack().raised_by(event) | event.carried:
            raisers.setdefault(key, []).append(event)
    hazards = armed(SHIPPED, SHIPPED.on_arrival(values), values, history, raisers)
    return [one.hazard.key for one in hazards]


def test_they_come_in_the_order_of_the_table_and_each_once():
    found = keys({}, finding("insulator-cracked"))
    assert len(set(found)) == len(found)
    assert found == sorted(found, key=SHIPPED.place.__getitem__)


def test_a_hazard_of_another_edition_that_came_with_the_unit_is_no_hazard_here():
    came = Event(sequence=1, event_type="received", carried=frozenset({"gone"}))
    assert "gone" not in keys({}, History.of([came]))


TRIGGERS = [trigger for hazard in SHIPPED.hazards for trigger in hazard.raised_by]
TYPES = {"note_added", "plug_doubted", *(t.event_type for t in TRIGGERS)}
WORDS = {
    name: st.sampled_from(sorted({"", *(w for t in TRIGGERS for w in getattr(t, name))}))
    for name in ("work", "finding", "section", "power", "stage")
}
EVENTS = st.builds(
    Event,
    sequence=st.just(1),
    event_type=st.sampled_from(sorted(TYPES)),
    fact=st.sampled_from(sorted({"unit.kind", *(t.fact for t in TRIGGERS)})),
    value=st.sampled_from(sorted({"", *(w for t in TRIGGERS for w in t.values)})),
    carried=st.sampled_from([frozenset(), frozenset({SHIPPED.hazards[0].key})]),
    unreadable=st.booleans(),
    **WORDS,
)


@settings(max_examples=examples(100))
@given(facts(), st.lists(EVENTS, max_size=5))
def test_events_that_cannot_raise_a_hazard_are_passed_over_and_no_others(given_facts, happened):
    history = History.of(replace(one, sequence=n) for n, one in enumerate(happened, start=1))
    cache = cache_of(published.pack())
    found = cache.armed(cache.unit(given_facts), history)
    assert [one.hazard.key for one in found] == keys(given_facts, history)
