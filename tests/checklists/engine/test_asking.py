"""The fact worth asking first takes most holds of the next gate away."""

from __future__ import annotations

import pytest

from checklists import published
from checklists.engine import asking
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from tests.checklists.engine.packs import hazard, hold, load, rule, step

GATES = ("first-power", "hands-in", "limited-power", "full-power", "soak", "release")
KEYS = [f"at-{gate}" for gate in GATES]
ALL_GATES = [rule("all", "true", *KEYS), *(hold(f"at-{gate}", gate) for gate in GATES)]


def told(checklist):
    return [(ask.fact, ask.holds) for ask in checklist.asks]


@pytest.mark.parametrize(
    ("facts", "gate"),
    [
        ({}, "first-power"),
        ({"work": ["joints-reflowed"]}, "limited-power"),
        ({"job.cover": "off"}, "hands-in"),
        ({"job.power": "limited"}, "full-power"),
        ({"job.power": "full"}, "soak"),
        ({"job.power": "full", "job.cover": "off"}, "soak"),
    ],
)
def test_the_next_gate_follows_cover_power_and_what_was_done(tmp_path, facts, gate):
    assert asking.next_gate(derive(load(tmp_path, *ALL_GATES), facts)) == gate


def test_a_gate_that_is_open_is_not_the_next(tmp_path):
    pack = load(tmp_path, *ALL_GATES)
    due = derive(pack, {}).by_key["at-first-power"]
    signed = Event(
        sequence=1,
        event_type="step_signed",
        step="at-first-power",
        result="pass",
        content_hash=due.content_hash,
    )
    assert asking.next_gate(derive(pack, {}, History.of([signed]))) == "full-power"
    nothing = load(tmp_path / "none", rule("r", "true", "a"), step("a"))
    assert asking.next_gate(derive(nothing, {})) is None
    assert derive(nothing, {}).asks == []


def test_the_answer_that_takes_most_holds_away_counts(tmp_path):
    pack = load(
        tmp_path,
        rule("switch", 'unit.supply == "switch-mode"', "a"),
        rule("mains", 'unit.supply != "battery"', "b", "c"),
        rule("laser", "unit.has_laser", "d"),
        rule("later", "unit.bias_adjustable", "e"),
        *(hold(key, "first-power") for key in "abcd"),
        hold("e", "soak"),
    )
    checklist = derive(pack, {})
    assert told(checklist) == [("unit.supply", 3), ("unit.has_laser", 1)]
    assert checklist.missing_facts == ["unit.supply", "unit.has_laser", "unit.bias_adjustable"]
    shape = checklist.as_dict()
    assert shape["next_gate"] == "first-power"
    assert shape["asks"][0] == {"fact": "unit.supply", "holds": 3}
    assert told(derive(pack, {"unit.supply": "linear"})) == [("unit.has_laser", 1)]


def test_what_one_answer_cannot_take_away_is_not_counted(tmp_path):
    both = 'unit.has_laser || "liquid" in intake.damage'
    pack = load(tmp_path, rule("r", both, "a"), hold("a", "first-power"))
    assert told(derive(pack, {})) == []
    assert told(derive(pack, {"unit.has_laser": False})) == [("intake.damage", 1)]
    assert told(derive(pack, {"unit.has_laser": True})) == []


def test_what_follows_from_the_record_is_not_asked(tmp_path):
    pack = load(tmp_path, rule("r", "job.returned", "a"), hold("a", "first-power"))
    assert told(derive(pack, {})) == []


def test_what_an_event_raised_no_answer_takes_away(tmp_path):
    raised = 'on_arrival = true\nraised_by = ["power_applied"]'
    parts = rule("r", "unit.has_laser", "a"), hold("a", "first-power")
    laser = hazard("h", "a", "limited", possible="unit.has_laser", more=raised)
    pack = load(tmp_path, *parts, laser)
    assert told(derive(pack, {})) == [("unit.has_laser", 1)]
    on = Event(sequence=1, event_type="power_applied", power="full")
    assert told(derive(pack, {}, History.of([on]))) == []


def test_what_failed_no_answer_takes_away(tmp_path):
    pack = load(tmp_path, rule("r", "unit.has_laser", "a"), hold("a", "first-power"))
    failed = Event(sequence=1, event_type="step_signed", step="a", result="fail")
    assert told(derive(pack, {}, History.of([failed]))) == []


def test_service_steps_fold_under_the_question_that_decides_them(tmp_path):
    pack = load(
        tmp_path,
        rule("old", "unit.year < 1970", "a", "b"),
        rule("both", "unit.has_laser && unit.year < 1970", "c"),
        rule("sure", "true", "d"),
        rule("held", "unit.has_laser", "e"),
        *(step(key) for key in "abcd"),
        hold("e", "first-power"),
    )
    folded = derive(pack, {}).undecided
    assert {name: [s.key for s in steps] for name, steps in folded.items()} == {
        "unit.has_laser": ["c"],
        "unit.year": ["a", "b"],
    }
    assert derive(pack, {"unit.has_laser": True, "unit.year": 1950}).undecided == {}


def test_the_year_is_not_asked_first_of_a_unit_of_which_little_is_known():
    known = {"unit.kind": "receiver", "complaint.symptoms": ["hum"], "findings": [], "work": []}
    record = {"job.cover": "on", "job.returned": False, "shop.practice": "after-repair"}
    checklist = derive(published.pack(), {**known, **record})
    assert [ask.fact for ask in checklist.asks][:2] == ["unit.supply", "intake.damage"]
    places = checklist.missing_facts
    assert places.index("unit.year") > places.index("unit.protective_class")
