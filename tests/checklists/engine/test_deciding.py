"""Conditions decided at once, by bits, against the CEL engine that decides them one by one."""

from __future__ import annotations

import os
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists import published
from checklists.engine.cel import Bound, Outcome, condition
from checklists.engine.deciding import Conditions, NoClausesError, clauses, hashable, places
from checklists.engine.derivation_cache import DerivationCache
from checklists.engine.derive import derive
from tests.checklists.engine.packs import load, rule, step
from tests.checklists.engine.strategies import fact_sets, random_facts

PACK = published.pack()
CACHE = DerivationCache(PACK)
ALL = [r.condition for r in PACK.rules] + [hazard.possible for hazard in PACK.hazards]
UNITS, PARTS = 100_000, 4


def outcomes(conditions: Conditions, count: int, facts) -> list[Outcome]:
    values = hashable(facts)
    possible, hit = conditions.decide(values)
    assert hit | possible == possible
    said = [Outcome.MISS] * count
    for place in places(possible):
        said[place] = conditions.outcome(place, hit, values)
    return said


def by_cel(conditions, facts) -> list[Outcome]:
    bound = Bound(facts)
    return [one.outcome(bound) for one in conditions]


@pytest.mark.slow
@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_a_hundred_thousand_units_are_decided_as_by_cel(part):
    seed = int(os.environ["BENCHTAG_SEED"]) + part
    print(f"seed {seed}: BENCHTAG_SEED={seed - part} draws the same units again")
    draw, conditions = random.Random(seed), Conditions(ALL)
    for _ in range(UNITS // PARTS):
        facts = random_facts(draw, ALL)
        said = by_cel(ALL, facts)
        assert outcomes(conditions, len(ALL), facts) == said, facts
        assert set(derive(PACK, facts).by_key) == listed_by(said), facts


def listed_by(said: list[Outcome]) -> set[str]:
    possible = [outcome is not Outcome.MISS for outcome in said]
    rules = zip(PACK.rules, possible, strict=False)
    hazards = zip(PACK.hazards, possible[len(PACK.rules) :], strict=True)
    by_rules = {key for one, kept in rules if kept for key in one.require}
    came = {key for h, kept in hazards if kept and h.on_arrival for key in h.listed_steps}
    return by_rules | came


def test_no_shipped_condition_is_left_to_cel():
    for one in ALL:
        clauses(one.tree)


TESTS = (
    'unit.kind == "mixer"',
    '"mixer" != unit.kind',
    'unit.kind in ["mixer", "tuner"]',
    "unit.has_laser",
    "unit.has_laser == false",
    "unit.year < 1980",
    "unit.year in [1979, 1980]",
    "unit.rail_volts >= 60.0",
    "unit.rail_volts * 2.0 > unit.rated_watts",
    "1.0 / unit.rail_volts > 0.1",
    "1 / (unit.year - unit.year) == 1",
    '"hum" in complaint.symptoms',
    "findings == []",
    "size(work) > 1",
    "true",
    "false",
)
SOURCES = st.recursive(
    st.sampled_from(TESTS),
    lambda inner: (
        st.builds("!({})".format, inner)
        | st.builds("({}) && ({})".format, inner, inner)
        | st.builds("({}) || ({})".format, inner, inner)
        | st.builds("({}) ? ({}) : ({})".format, inner, inner, inner)
    ),
    max_leaves=8,
)
READ = sorted({name for source in TESTS for name in condition(source).names})


@given(st.lists(SOURCES, min_size=1, max_size=4), fact_sets(READ))
def test_any_conditions_are_decided_as_by_cel(sources, facts):
    conditions = [condition(source) for source in sources]
    together, said = Conditions(conditions), by_cel(conditions, facts)
    assert outcomes(together, len(conditions), facts) == said
    for place, outcome in enumerate(said):
        assert together.is_possible(place, hashable(facts)) is (outcome is not Outcome.MISS)


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ('unit.kind == "mixer"', [(("unit.kind", "_==_", "mixer", True),)]),
        ("!unit.has_laser", [(("unit.has_laser", "_==_", True, False),)]),
        ("true", []),
        ("false", [()]),
        (
            '(unit.year < 1980 || "hum" in complaint.symptoms) && unit.has_laser',
            [
                (
                    ("unit.year", "_<_", 1980, True),
                    ("complaint.symptoms", "has", "hum", True),
                ),
                (("unit.has_laser", "_==_", True, True),),
            ],
        ),
    ],
)
def test_a_condition_becomes_clauses(source, said):
    assert clauses(condition(source).tree) == said


@pytest.mark.parametrize(
    "source",
    [
        "1 / 0 == 1",
        "unit.has_laser ? unit.has_valves : true",
        "unit.rail_volts > unit.rated_watts",
        '"mixer" in ["mixer", "tuner"]',
        "unit.year in [1900 + 80]",
        "findings == []",
        " || ".join(["(unit.has_laser && unit.has_valves)"] * 7),
    ],
)
def test_what_is_more_than_tests_of_single_facts_is_left_to_cel(source):
    with pytest.raises(NoClausesError):
        clauses(condition(source).tree)


def test_a_condition_of_too_many_clauses_is_left_to_cel(monkeypatch):
    asked = []
    monkeypatch.setattr("checklists.engine.deciding.MOST_CLAUSES", 2)
    both, three = (
        condition(" && ".join(f"unit.{name}" for name in names))
        for names in (("has_laser", "has_valves"), ("has_laser", "has_valves", "pfc_bus"))
    )
    monkeypatch.setattr(
        "checklists.engine.cel.Condition.outcome",
        lambda one, bound: asked.append(one) or Outcome.HIT,
    )
    assert Conditions([both, three]).decide({}) == (0b11, 0b10)
    assert asked == [three]


@pytest.mark.parametrize("wrong", ["x", "mixer", 1, 1.0, True, None, ["mixer"], [1], [], 10**30])
@pytest.mark.parametrize("name", ["unit.kind", "unit.has_laser", "unit.year", "findings"])
def test_a_value_of_the_wrong_type_takes_no_step_away(name, wrong):
    right = {"unit.kind": str, "unit.has_laser": bool, "unit.year": int, "findings": list}[name]
    if type(wrong) is right:
        return
    reading = [one for one in ALL if one.names == {name}]
    possible, hit = Conditions(reading).decide(hashable({name: wrong}))
    assert (possible, hit) == (2 ** len(reading) - 1, 0)


def test_a_whole_number_is_taken_for_a_decimal_as_by_cel():
    one = condition("unit.rail_volts > 60.0")
    assert outcomes(Conditions([one]), 1, {"unit.rail_volts": 61}) == [Outcome.HIT]
    assert by_cel([one], {"unit.rail_volts": 61}) == [Outcome.HIT]


@given(fact_sets())
def test_every_rule_that_may_hold_is_a_reason_with_what_it_read(facts):
    bound = Bound(facts)
    said = [(rule_.id, rule_.condition.outcome(bound)) for rule_ in PACK.rules]

    for cache in (DerivationCache(PACK), CACHE, CACHE):
        unit = cache.unit(facts)
        found = [unit.reason(place) for place in unit.in_force]
        assert [(reason.rule.id, reason.outcome) for reason in found] == [
            (name, outcome) for name, outcome in said if outcome is not Outcome.MISS
        ]
        for reason in found:
            read = reason.rule.condition.names
            assert reason.facts == {n: facts[n] for n in read if n in facts}
            unknown = read - facts.keys() if reason.outcome is Outcome.UNDETERMINED else set()
            assert reason.missing == unknown


@given(fact_sets(), fact_sets())
def test_one_unit_does_not_colour_the_next(one, other):
    fresh = derive(PACK, one).as_dict()
    derive(PACK, other)
    assert derive(PACK, one).as_dict() == fresh


def test_facts_that_change_later_leave_a_list_as_it_was(tmp_path):
    more = 'readings = [{ quantity = "q", unit = "V", source = "x", max = '
    more += '{ known = "unit.rail_volts / 2.0", unknown = 1 } }]\nanswers = ["unit.kind"]'
    rules = rule("r", 'unit.rail_volts > 60.0 && "fuse-blown" in findings', "a")
    facts = {"unit.rail_volts": 80.0, "findings": ["fuse-blown"]}
    [listed] = derive(load(tmp_path, rules, step("a", more)), facts).steps

    facts["findings"].clear()
    facts |= {"unit.rail_volts": 20.0, "unit.kind": "mixer"}

    assert listed.readings[0].high == 40.0
    assert listed.reasons[0].facts == {"unit.rail_volts": 80.0, "findings": ["fuse-blown"]}
    assert [answer.fact for answer in listed.answers] == ["unit.kind"]


def test_memory_starts_anew_before_it_grows_without_end(tmp_path, monkeypatch):
    monkeypatch.setattr("checklists.engine.derivation_cache.MOST_KEPT", 3)
    monkeypatch.setattr("checklists.engine.deciding.MOST_KEPT", 3)
    more = 'readings = [{ quantity = "q", unit = "V", source = "x", max = '
    more += '{ known = "unit.rail_volts / 2.0", unknown = 1 } }]'
    pack = load(tmp_path, rule("r", "unit.rail_volts > 60.0", "a"), step("a", more))
    for volts in range(61, 81):
        [listed] = derive(pack, {"unit.rail_volts": float(volts)}).steps
        assert listed.readings[0].high == volts / 2
        assert derive(pack, {"unit.rail_volts": float(volts - 61)}).steps == ()
