from __future__ import annotations

import pytest

from checklists import published
from checklists.engine import explain
from checklists.engine.cel import Outcome
from tests.checklists.engine.packs import load, rule, step
from tests.helpers import amplifier


def test_every_part_of_a_condition_is_told_with_its_truth(tmp_path):
    when = '(unit.has_laser || unit.year < 1980) && !("dust-heavy" in findings)'
    pack = load(tmp_path, rule("r", when, "a"), step("a"))

    [trace] = explain.why(pack, {"unit.year": 1970}, "a")

    assert trace.outcome is Outcome.UNDETERMINED
    assert trace.missing == ("findings", "unit.has_laser")
    either, no_dust = trace.condition.parts
    assert (either.truth, either.join) == ("true", "any of")
    assert [(p.text, p.truth) for p in either.parts] == [
        ("unit.has_laser", "unknown"),
        ("unit.year < 1980", "true"),
    ]
    assert either.parts[1].facts == {"unit.year": 1970}
    assert (no_dust.truth, no_dust.join) == ("unknown", "not")


@pytest.mark.parametrize(
    ("facts", "step_", "change"),
    [
        (amplifier(unit__rail_volts=24.0), "discharge-reservoirs", ("unit.rail_volts", 30.3)),
        (
            amplifier(findings=[], work=[]),
            "insulator-isolation",
            ("findings", ["insulator-cracked"]),
        ),
        (
            amplifier(unit__protective_class="II"),
            "earth-continuity",
            ("unit.protective_class", "I"),
        ),
        (amplifier(), "hot-chassis", ("unit.supply", "transformerless")),
    ],
)
def test_an_absent_step_says_what_would_bring_it(facts, step_, change):
    traces = explain.why(published.pack(), facts, step_)
    assert change in [found for trace in traces for found in trace.would_bring]


def test_a_present_step_says_what_would_remove_it():
    [trace] = explain.why(published.pack(), amplifier(), "earth-continuity")
    assert ("unit.protective_class", "II") in trace.would_remove
    assert trace.would_bring == ()


def test_what_is_said_to_turn_a_rule_does_turn_it():
    for key in published.pack().steps:
        for trace in explain.why(published.pack(), amplifier(findings=[], work=[]), key):
            for name, value in trace.would_bring:
                changed = amplifier(findings=[], work=[]) | {name: value}
                again = explain.why(published.pack(), changed, key)
                assert Outcome.HIT in [t.outcome for t in again if t.rule.id == trace.rule.id]


def test_a_number_is_tried_just_below_and_above_and_within_what_the_fact_can_be(tmp_path):
    pack = load(tmp_path, rule("r", "unit.mains_volts > 500.0 && 1 < 2", "a"), step("a"))
    [trace] = explain.why(pack, {"unit.mains_volts": 230.0}, "a")
    assert trace.would_bring == (), "no mains is above 500 V"

    pack = load(tmp_path, rule("r", "unit.year >= 1980", "a"), step("a"))
    [trace] = explain.why(pack, {"unit.year": 1970}, "a")
    assert trace.would_bring == (("unit.year", 1980), ("unit.year", 1981))


def test_a_part_as_json_has_its_parts_below_it(tmp_path):
    pack = load(tmp_path, rule("r", "unit.has_laser && unit.year < 1980", "a"), step("a"))
    [trace] = explain.why(pack, {"unit.year": 1990}, "a")
    part = trace.condition.as_dict()

    assert (part["truth"], part["join"], part["facts"]) == ("false", "all of", {"unit.year": 1990})
    assert [below["text"] for below in part["parts"]] == ["unit.has_laser", "unit.year < 1980"]
    assert part["parts"][0] == {
        "text": "unit.has_laser",
        "truth": "unknown",
        "join": "",
        "facts": {},
        "parts": [],
    }


def test_an_unknown_step_is_an_error():
    with pytest.raises(KeyError):
        explain.why(published.pack(), {}, "no-such-step")
