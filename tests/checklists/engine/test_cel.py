from __future__ import annotations

import pytest

from checklists.engine.cel import Bound, Condition, ConditionError, Outcome, condition, quantity

HIT, MISS, UNDETERMINED, BROKEN = Outcome


@pytest.mark.parametrize(
    ("source", "facts", "outcome"),
    [
        ("unit.has_laser", {"unit.has_laser": True}, HIT),
        ("unit.has_laser", {"unit.has_laser": False}, MISS),
        ("unit.has_laser", {}, UNDETERMINED),
        ("unit.has_laser && unit.moving_parts", {"unit.moving_parts": False}, MISS),
        ("unit.has_laser && unit.moving_parts", {"unit.moving_parts": True}, UNDETERMINED),
        ("unit.moving_parts && unit.has_laser", {"unit.moving_parts": False}, MISS),
        ("unit.has_laser || unit.moving_parts", {"unit.moving_parts": True}, HIT),
        ("unit.has_laser || unit.moving_parts", {"unit.moving_parts": False}, UNDETERMINED),
        ("!unit.has_laser", {}, UNDETERMINED),
        ("unit.rail_volts > 60.0", {"unit.rail_volts": 60.0}, MISS),
        ("unit.rail_volts > 60.0", {"unit.rail_volts": 60.01}, HIT),
        ('"joint-cracked" in findings', {"findings": []}, MISS),
        ('"joint-cracked" in findings', {}, UNDETERMINED),
        ("1 / 0 == 1", {}, BROKEN),
        ("unit.year / 0 == 1", {"unit.year": 1980}, BROKEN),
        ("unit.year / 0 == 1", {}, UNDETERMINED),
    ],
)
def test_a_condition_is_hit_miss_undetermined_or_broken(source, facts, outcome):
    assert condition(source).outcome(Bound(facts)) is outcome


def test_an_error_is_never_taken_for_true():
    # The library's error value is a non-empty string.
    assert condition("1 / 0 == 1").outcome(Bound({})) is not HIT


@pytest.mark.parametrize(
    "source",
    [
        "unit.kind",
        "unit.kind == 3",
        "unit.rail_volts > 60",
        "unit.colour == 'red'",
        "unit.kind = 'mixer'",
        "findings.exists(f, f == 'joint-cracked')",
        "has(unit.kind)",
        "",
        "true || " * 300 + "true",
    ],
)
def test_what_is_no_condition_is_refused_when_the_pack_is_read(source):
    with pytest.raises(ConditionError):
        condition(source)


def test_an_amount_is_a_finite_number_or_nothing():
    watts_over_volts = quantity("unit.rated_watts / unit.mains_volts")

    known = {"unit.rated_watts": 100.0, "unit.mains_volts": 230.0}
    assert watts_over_volts.amount(Bound(known)) == pytest.approx(100 / 230)
    assert watts_over_volts.amount(Bound({"unit.rated_watts": 100.0})) is None
    assert watts_over_volts.amount(Bound({**known, "unit.mains_volts": 0.0})) is None


def test_a_budget_that_is_exceeded_is_an_error_like_any_other():
    class Exceeds:
        def eval(self, _):
            raise RuntimeError("budget")

    laser = Condition("unit.has_laser")
    laser._compiled = Exceeds()
    assert laser.outcome(Bound({"unit.has_laser": True})) is BROKEN
    assert laser.outcome(Bound({})) is UNDETERMINED


def test_a_condition_knows_the_facts_it_reads():
    both = condition('unit.kind in ["mixer"] && !(unit.year < 1980)')
    assert both.names == {"unit.kind", "unit.year"}
    assert condition("true").names == frozenset()
