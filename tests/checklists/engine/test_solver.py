from __future__ import annotations

from dataclasses import replace

import pytest
import z3
from hypothesis import given, settings
from hypothesis import strategies as st

from checklists import published
from checklists.engine.cel import Bound, Outcome, condition
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.solver import Model, NotTranslated
from tests.checklists.engine.strategies import fact_sets
from tests.helpers_plain import examples

PACK = published.pack()
MODEL = Model(PACK)
# The model knows the rules; what hazards put on the list beside them can only be more.
BY_RULES = replace(PACK, hazards=(), raw={**PACK.raw, "hazards": "left out"})
OPENED = History.of([Event(sequence=1, event_type="cover_removed")])


def settled(formula, facts, *, touched=False) -> bool:
    """Evaluate a formula of the model for one unit."""
    pairs = [*MODEL.unit.assignments(facts), (MODEL.unit.touched, z3.BoolVal(touched))]
    value = z3.simplify(z3.substitute(formula, *pairs))
    assert z3.is_true(value) or z3.is_false(value), value
    return z3.is_true(value)


@given(fact_sets(), st.sampled_from(PACK.rules))
def test_the_model_and_the_engine_agree_on_every_condition(facts, tested):
    truth = MODEL.rule(tested)
    outcome = tested.condition.outcome(Bound(facts))

    assert settled(truth.true, facts) is (outcome is Outcome.HIT)
    assert settled(truth.false, facts) is (outcome is Outcome.MISS)


CONDITIONS = [
    "unit.has_laser && !unit.moving_parts || unit.year < 1980",
    "!(unit.has_laser || unit.kind == 'mixer') && unit.kind != 'tuner'",
    "unit.has_laser ? unit.year >= 1990 : unit.moving_parts",
    "unit.has_laser == true && unit.moving_parts != false",
    "size(findings) > 2 && 'joint-cracked' in findings",
    "unit.kind in ['mixer', 'tuner'] || size(work) == 0",
    "unit.rail_volts * 2.0 - 10.0 > unit.mains_volts + 1.5",
    "double(unit.year) > unit.rail_volts",
    "(unit.year < 1980 ? 1.0 : 2.0) > 1.5",
    "'none' in intake.damage && unit.rail_volts <= 60.0",
]


@given(fact_sets(), st.sampled_from(CONDITIONS))
def test_the_model_and_the_engine_agree_on_conditions_of_every_form(facts, source):
    truth = MODEL.condition(condition(source).tree)
    outcome = condition(source).outcome(Bound(facts))
    assert settled(truth.true, facts) is (outcome is Outcome.HIT)
    assert settled(truth.false, facts) is (outcome is Outcome.MISS)


@given(fact_sets(), st.booleans())
@settings(max_examples=examples(40))
def test_the_model_and_the_engine_agree_on_holds_and_gates(facts, touched):
    checklist = derive(BY_RULES, facts, OPENED if touched else History())
    for key, listed in PACK.steps.items():
        on_list = key in checklist.by_key
        assert settled(MODEL.listed(key), facts, touched=touched) is on_list
        for gate in {listed.gate, listed.gate_once_opened} - {None}:
            held = key in [s.key for s in checklist.gate(gate)]
            assert settled(MODEL.held(key, gate), facts, touched=touched) is held


@given(fact_sets(), st.booleans())
@settings(max_examples=examples(40))
def test_hazards_only_add_to_what_the_model_lists_and_holds(facts, touched):
    history = OPENED if touched else History()
    by_rules, whole = derive(BY_RULES, facts, history), derive(PACK, facts, history)
    assert by_rules.by_key.keys() <= whole.by_key.keys()
    for key, listed in by_rules.by_key.items():
        assert whole.by_key[key].gate == listed.gate


@pytest.mark.parametrize(
    "source",
    [
        "unit.rated_watts / unit.mains_volts > 1.0",
        "1 / 0 == 1",
        "unit.year in [1980, 1981]",
        "'mixer' in ['mixer', 'tuner']",
        "unit.kind.contains('amp')",
        "(unit.has_laser ? 1 / 0 : 1) == 1",
    ],
)
def test_what_is_not_known_is_said_and_never_skipped(source):
    with pytest.raises(NotTranslated):
        MODEL.condition(condition(source).tree)


def test_a_word_outside_the_vocabulary_is_never_said_of_a_unit():
    for source in ("unit.kind == 'toaster'", "'gremlins' in findings", "unit.kind in ['toaster']"):
        truth = MODEL.condition(condition(source).tree)
        facts = {"unit.kind": "mixer", "findings": []}
        assert settled(truth.false, facts)
        assert not settled(truth.true, facts)


def test_a_service_step_is_held_by_no_gate():
    assert not PACK.steps["controls-clean"].hold
    assert z3.is_false(MODEL.held("controls-clean", "release"))


@given(fact_sets())
def test_a_unit_comes_back_from_the_solver_as_it_went_in(facts):
    solver = z3.Solver()
    solver.add(*MODEL.unit.bounds())
    solver.add(*(variable == value for variable, value in MODEL.unit.assignments(facts)))
    assert solver.check() == z3.sat
    back = MODEL.unit.facts_of(solver.model())
    assert {n: set(v) if isinstance(v, list) else v for n, v in back.items()} == {
        n: set(v) if isinstance(v, list) else v for n, v in facts.items()
    }
