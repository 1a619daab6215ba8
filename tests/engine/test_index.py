from __future__ import annotations

from hypothesis import given

from checklists import published
from checklists.engine.cel import Bound, Outcome, condition
from checklists.engine.index import Index, needs_of
from tests.engine.strategies import fact_sets

PACK = published.pack()
INDEX = Index.of(PACK.rules)


@given(fact_sets())
def test_a_rule_that_is_left_out_would_have_missed(facts):
    kept = {rule.id for rule in INDEX.candidates(facts)}
    bound = Bound(facts)

    for rule in PACK.rules:
        if rule.id not in kept:
            assert rule.condition.outcome(bound) is Outcome.MISS


def test_candidates_keep_the_order_of_the_pack():
    kept = [rule.id for rule in INDEX.candidates({})]
    assert kept == [rule.id for rule in PACK.rules]


def test_a_known_kind_leaves_rules_of_other_kinds_out():
    kept = {r.id for r in INDEX.candidates({"findings": [], "work": []})}
    assert "ceramic-that-must-not-be-cut" not in kept
    assert "rail-can-exceed-60-volts" in kept


def test_needs_are_what_a_condition_cannot_do_without():
    def needs(source):
        return needs_of(condition(source).tree)

    assert needs('unit.kind == "mixer"') == {"unit.kind": {"mixer"}}
    assert needs('unit.kind in ["mixer", "tuner"] && unit.year < 1980') == {
        "unit.kind": {"mixer", "tuner"}
    }
    assert needs('unit.kind == "mixer" || unit.kind == "tuner"') == {
        "unit.kind": {"mixer", "tuner"}
    }
    assert needs('unit.kind == "mixer" || unit.year < 1980') == {}
    assert needs('unit.kind != "mixer"') == {}
    assert needs('!(unit.kind == "mixer")') == {}
    assert needs('unit.kind == "mixer" && unit.kind == "tuner"') == {"unit.kind": frozenset()}
