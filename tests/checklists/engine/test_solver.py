from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

z3 = pytest.importorskip("z3")

from hypothesis import given, settings  # noqa: E402
from hypothesis import strategies as st  # noqa: E402

from checklists import published  # noqa: E402
from checklists.engine import properties, prove  # noqa: E402
from checklists.engine.cel import Bound, Outcome, condition  # noqa: E402
from checklists.engine.derive import derive  # noqa: E402
from checklists.engine.history import Event, History  # noqa: E402
from checklists.engine.solver import Model, NotTranslated  # noqa: E402
from checklists.engine.vocabulary import VOCABULARY, accept  # noqa: E402
from tests.checklists.engine.packs import load, rule, step  # noqa: E402
from tests.checklists.engine.strategies import fact_sets  # noqa: E402
from tests.helpers_plain import amplifier, examples  # noqa: E402

PACK = published.pack()
MODEL = Model(PACK)
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
    checklist = derive(PACK, facts, OPENED if touched else History())
    for key, listed in PACK.steps.items():
        on_list = key in checklist.by_key
        assert settled(MODEL.listed(key), facts, touched=touched) is on_list
        for gate in {listed.gate, listed.gate_once_opened} - {None}:
            held = key in [s.key for s in checklist.gate(gate)]
            assert settled(MODEL.held(key, gate), facts, touched=touched) is held


@pytest.mark.parametrize("source", ["unit.rated_watts / unit.mains_volts > 1.0", "1 / 0 == 1"])
def test_what_is_not_known_is_said_and_never_skipped(source):
    with pytest.raises(NotTranslated):
        MODEL.condition(condition(source).tree)


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


HOLD = 'gate = "open-up"\nhold = true'


def claim(pack, **parts):
    table = {"id": "p", "says": "A claim.", **parts}
    return properties.property_from(table, pack, "p.properties.toml")


@pytest.fixture
def leaky(tmp_path):
    """Discharges above 100 V only, and forgets that the rail may be unknown when it is a mixer."""
    when = 'unit.rail_volts > 100.0 && unit.kind != "mixer"'
    return load(tmp_path, rule("r", when, "discharge"), step("discharge", HOLD))


def test_a_hole_in_a_pack_comes_back_as_a_unit(leaky):
    wanted = claim(leaky, if_possible="unit.rail_volts > 60.0", hold=["discharge"], gate="open-up")
    found = prove.Prover(leaky).check(wanted)

    assert found.verdict == prove.Verdict.REFUTED
    accept(found.facts)
    checklist = derive(leaky, found.facts)
    assert "discharge" not in checklist.by_key
    assert len(found.facts) == 1, "the smallest unit that slips through"


def test_the_same_property_holds_where_the_pack_keeps_it(leaky):
    wanted = claim(
        leaky,
        **{
            "if": "unit.rail_volts > 100.0 && unit.kind != 'mixer'",
            "hold": ["discharge"],
            "gate": "open-up",
        },
    )
    assert prove.Prover(leaky).check(wanted).verdict == prove.Verdict.PROVED


def test_plainly_true_and_possible_are_not_the_same(leaky):
    prover = prove.Prover(leaky)
    source = "unit.rail_volts > 100.0 && unit.kind == 'tuner'"
    certain = {"if": source, "hold": ["discharge"], "gate": "open-up"}
    assert prover.check(claim(leaky, **certain)).verdict == prove.Verdict.PROVED
    assert prover.check(
        claim(leaky, if_possible="unit.has_laser", listed=["discharge"])
    ).verdict == (prove.Verdict.REFUTED)


def test_a_dead_rule_and_an_unreachable_hold_are_found(tmp_path):
    dead = "unit.year < 1980 && unit.year > 1990"
    pack = load(
        tmp_path,
        rule("dead", dead, "never"),
        rule("live", "true", "always"),
        step("never", HOLD),
        step("always", HOLD),
    )
    found = {f.id: f.verdict for f in prove.Prover(pack).structure()}
    assert found["live/dead"] == prove.Verdict.REFUTED
    assert found["live/live"] == prove.Verdict.PROVED
    assert found["reachable/always"] == prove.Verdict.PROVED
    # An unknown year keeps the step, so somebody does meet it.
    assert found["reachable/never"] == prove.Verdict.PROVED


def test_contradictory_limits_are_found_with_the_unit_that_has_them(tmp_path):
    reading = 'readings = [{ quantity = "q", unit = "V", max = 60, source = "x" }]'
    more = 'limits = [{ step = "a", quantity = "q", min = 90, source = "y" }]'
    pack = load(
        tmp_path,
        rule("all", "true", "a"),
        rule("clash", "unit.has_laser", more=more),
        step("a", reading),
    )
    [found] = [f for f in prove.Prover(pack).structure() if f.id == "limits/a/q"]
    assert found.verdict == prove.Verdict.REFUTED
    listed = derive(pack, found.facts).steps[0].readings[0]
    assert listed.low > listed.high


def test_limits_can_be_claimed(tmp_path):
    known = '{ known = "unit.has_laser ? 10.0 : 50.0", unknown = 20 }'
    reading = f'readings = [{{ quantity = "q", unit = "V", max = {known}, source = "x" }}]'
    pack = load(tmp_path, rule("all", "true", "a"), step("a", reading))
    prover = prove.Prover(pack)

    def limit(volts, **premise):
        return prover.check(
            claim(pack, limit={"step": "a", "quantity": "q", "max": volts}, **premise)
        )

    assert limit(50).verdict == prove.Verdict.PROVED
    assert limit(20).facts == {"unit.has_laser": False}
    assert limit(10, **{"if": "unit.has_laser"}).verdict == prove.Verdict.PROVED


def test_what_cannot_be_translated_is_not_proved(tmp_path):
    pack = load(tmp_path, rule("r", "unit.rated_watts / unit.mains_volts > 1.0", "a"), step("a"))
    prover = prove.Prover(pack)
    assert prover.check(claim(pack, listed=["a"])).verdict == prove.Verdict.OPEN
    assert "not translated" in prover.check(claim(pack, listed=["a"])).why
    assert {f.id: f.verdict for f in prover.structure()}["live/r"] == prove.Verdict.OPEN


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("id = 'p'\nlisted = ['touch-current']", "says is missing"),
        ("id = 'p'\nsays = 's'", "make one claim, not 0"),
        ("id = 'p'\nsays = 's'\nlisted = ['x']", "x is no step"),
        ("id = 'p'\nsays = 's'\nhold = ['touch-current']\ngate = 'garden'", "gate is 'garden'"),
        ("id = 'p'\nsays = 's'\nlisted = ['touch-current']\nif = 'unit.colour'", "undeclared"),
        ("id = 'p'\nsays = 's'\nlisted = ['touch-current']\nwhen = 'true'", "when is not known"),
        (
            "id = 'p'\nsays = 's'\nlisted = ['touch-current']\n"
            "[[property]]\nid = 'p'\nsays = 's'\nlisted = ['touch-current']",
            "there twice: p",
        ),
    ],
)
def test_a_property_that_cannot_be_read_is_told(tmp_path, text, said):
    (tmp_path / "bad.properties.toml").write_text(f"[[property]]\n{text}\n")
    with pytest.raises(properties.PropertyError, match=said):
        properties.read(tmp_path, PACK)


@pytest.mark.parametrize(
    ("step_", "changed"),
    [
        ("hot-chassis", {"unit.supply": "transformerless"}),
        ("earth-continuity", {"unit.protective_class": "I"}),
        ("laser-closed-path", {"unit.has_laser": True}),
    ],
)
def test_the_smallest_change_brings_an_absent_step(step_, changed):
    facts = amplifier(unit__protective_class="II", findings=[], work=[])
    change = prove.smallest_change(PACK, facts, step_)
    assert change in (changed, {"unit.kind": "disc-player"})
    assert step_ in derive(PACK, {**facts, **change}).by_key


@pytest.mark.parametrize("step_", sorted(set(PACK.steps) - {"us-cold-check"}))
def test_a_smallest_change_always_works(step_):
    facts = amplifier(findings=[], work=[])
    change = prove.smallest_change(PACK, facts, step_)
    listed = derive(PACK, {**facts, **change}).by_key[step_]
    assert not listed.undetermined
    assert set(change) <= set(VOCABULARY)


def test_the_practice_of_the_shop_is_no_fact_to_change():
    facts = amplifier(findings=[], work=[], shop__practice="after-repair")
    assert prove.smallest_change(PACK, facts, "us-cold-check") is None


def test_several_pages_can_ask_at_once():
    facts = amplifier(findings=[], work=[])
    here = derive(PACK, facts).by_key
    absent = [key for key in PACK.steps if key not in here and key != "us-cold-check"][:24]

    with ThreadPoolExecutor(6) as pool:
        changes = list(pool.map(lambda key: prove.smallest_change(PACK, facts, key), absent))

    for key, change in zip(absent, changes, strict=True):
        assert key in derive(PACK, {**facts, **change}).by_key
