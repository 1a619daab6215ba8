from __future__ import annotations

import pytest
from hypothesis import given

from checklists import published
from checklists.engine.cel import Bound, Outcome, condition
from checklists.engine.derivation_cache import DerivationCache, Evaluation
from checklists.engine.derive import derive
from checklists.engine.prefilter import may_match, required_words
from tests.checklists.engine.packs import load, rule, step
from tests.checklists.engine.strategies import fact_sets

PACK = published.pack()
CACHE = DerivationCache(PACK)


@given(fact_sets())
def test_a_rule_that_is_left_out_would_have_missed(facts):
    bound = Bound(facts)
    for rule_ in PACK.rules:
        if not may_match(required_words(rule_.condition.tree), facts):
            assert rule_.condition.outcome(bound) is Outcome.MISS


@given(fact_sets())
def test_what_is_remembered_is_what_every_rule_says(facts):
    bound = Bound(facts)
    outcomes = [(rule_, rule_.condition.outcome(bound)) for rule_ in PACK.rules]
    said = [(rule_.id, outcome) for rule_, outcome in outcomes if outcome is not Outcome.MISS]

    for cache in (DerivationCache(PACK), CACHE, CACHE):
        found = [reason for _, reason in cache.in_force(Evaluation(facts))]
        assert [(reason.rule.id, reason.outcome) for reason in found] == said
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


def test_memory_starts_anew_before_it_grows_without_end(tmp_path, monkeypatch):
    monkeypatch.setattr("checklists.engine.derivation_cache.MOST_KEPT", 3)
    more = 'readings = [{ quantity = "q", unit = "V", source = "x", max = '
    more += '{ known = "unit.rail_volts / 2.0", unknown = 1 } }]'
    pack = load(tmp_path, rule("r", "unit.rail_volts > 60.0", "a"), step("a", more))
    for volts in range(61, 81):
        [listed] = derive(pack, {"unit.rail_volts": float(volts)}).steps
        assert listed.readings[0].high == volts / 2


@pytest.mark.parametrize(
    ("source", "needs"),
    [
        ('unit.kind == "mixer"', {"unit.kind": {"mixer"}}),
        (
            'unit.kind in ["mixer", "tuner"] && unit.year < 1980',
            {"unit.kind": {"mixer", "tuner"}},
        ),
        ('unit.kind == "mixer" || unit.kind == "tuner"', {"unit.kind": {"mixer", "tuner"}}),
        ('unit.kind == "mixer" || unit.year < 1980', {}),
        ('unit.kind != "mixer"', {}),
        ("unit.has_laser == true", {}),
        ('"mixer" == unit.kind', {}),
        ("unit.year in [1980, 1981]", {}),
        ('"mixer" in ["mixer", "tuner"]', {}),
        ('unit.kind == "mixer" && (findings == [] || unit.year < 1980)', {"unit.kind": {"mixer"}}),
        ('!(unit.kind == "mixer")', {}),
        ('unit.kind == "mixer" && unit.kind == "tuner"', {"unit.kind": set()}),
        ('"joint-cracked" in findings', {"findings": {"joint-cracked"}}),
    ],
)
def test_needs_are_what_a_condition_cannot_do_without(source, needs):
    assert required_words(condition(source).tree) == needs
