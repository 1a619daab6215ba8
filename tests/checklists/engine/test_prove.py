from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
import z3

from checklists import published
from checklists.engine import properties, prove
from checklists.engine.derive import derive
from checklists.engine.prove import Verdict
from checklists.engine.solver import NotTranslated
from checklists.engine.vocabulary import VOCABULARY, accept
from tests.checklists.engine.packs import load, rule, step
from tests.helpers_plain import amplifier

PACK = published.pack()

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

    assert found.verdict == Verdict.REFUTED
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
    assert prove.Prover(leaky).check(wanted).verdict == Verdict.PROVED


def test_plainly_true_and_possible_are_not_the_same(leaky):
    prover = prove.Prover(leaky)
    source = "unit.rail_volts > 100.0 && unit.kind == 'tuner'"
    certain = {"if": source, "hold": ["discharge"], "gate": "open-up"}
    assert prover.check(claim(leaky, **certain)).verdict == Verdict.PROVED
    assert prover.check(
        claim(leaky, if_possible="unit.has_laser", listed=["discharge"])
    ).verdict == (Verdict.REFUTED)


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
    assert found["live/dead"] == Verdict.REFUTED
    assert found["live/live"] == Verdict.PROVED
    assert found["reachable/always"] == Verdict.PROVED
    # An unknown year keeps the step, so somebody does meet it.
    assert found["reachable/never"] == Verdict.PROVED


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
    assert found.verdict == Verdict.REFUTED
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

    assert limit(50).verdict == Verdict.PROVED
    assert limit(20).facts == {"unit.has_laser": False}
    assert limit(10, **{"if": "unit.has_laser"}).verdict == Verdict.PROVED


def test_what_cannot_be_translated_is_not_proved(tmp_path):
    pack = load(tmp_path, rule("r", "unit.rated_watts / unit.mains_volts > 1.0", "a"), step("a"))
    prover = prove.Prover(pack)
    assert prover.check(claim(pack, listed=["a"])).verdict == Verdict.OPEN
    assert "not translated" in prover.check(claim(pack, listed=["a"])).why
    assert {f.id: f.verdict for f in prover.structure()}["live/r"] == Verdict.OPEN


class NoAnswer:
    """A solver that has run out of time."""

    def check(self):
        return z3.unknown


def test_a_solver_that_runs_out_of_time_proves_nothing(leaky, monkeypatch):
    prover = prove.Prover(leaky)
    monkeypatch.setattr(prover, "_solver", lambda _: NoAnswer())
    found = prover.check(claim(leaky, listed=["discharge"]))
    assert (found.verdict, found.why) == (Verdict.OPEN, "the solver gave no answer in time")
    assert {f.verdict for f in prover.structure()} == {Verdict.OPEN}


def test_a_counterexample_that_the_engine_does_not_share_proves_nothing(leaky):
    class Believed:
        """A claim that no formula keeps, and that every checklist keeps."""

        def formula(self, model):
            return z3.BoolVal(val=False)

        def kept_by(self, checklist):
            return True

    doubted = properties.Property("p", "A claim.", properties.Premise(), Believed())
    found = prove.Prover(leaky).check(doubted)
    assert found.verdict == Verdict.OPEN
    assert found.why == "the engine does not share the counterexample"
    assert found.facts == {}


def test_limits_that_cannot_be_translated_are_left_open(tmp_path):
    known = '{ known = "unit.rated_watts / unit.mains_volts", unknown = 20 }'
    both = f'readings = [{{ quantity = "q", unit = "A", min = 1, max = {known}, source = "x" }}]'
    pack = load(tmp_path, rule("all", "true", "a"), step("a", both))
    found = {f.id: f for f in prove.Prover(pack).structure()}["limits/a/q"]
    assert (found.verdict, found.why.split(":")[0]) == (Verdict.OPEN, "not translated")


def test_a_rule_that_no_unit_hits_is_dead(tmp_path):
    pack = load(tmp_path, rule("r", "unit.year < 1900", "a"), step("a", HOLD))
    found = {f.id: f for f in prove.Prover(pack).structure()}
    assert (found["live/r"].verdict, found["live/r"].why) == (Verdict.REFUTED, "no unit does")


@pytest.mark.parametrize(
    ("parts", "verdict"),
    [
        ({"any_hold": ["a", "b"], "gate": "open-up", "touched": False}, Verdict.PROVED),
        ({"any_hold": ["b"], "gate": "open-up"}, Verdict.REFUTED),
        ({"any_hold": ["a"], "gate": "open-up", "touched": True}, Verdict.REFUTED),
        ({"not_listed": ["b"], "if": "!unit.has_laser"}, Verdict.PROVED),
        ({"not_listed": ["b"], "if_possible": "!unit.has_laser"}, Verdict.REFUTED),
        ({"limit": {"step": "a", "quantity": "q", "min": 1}}, Verdict.PROVED),
        ({"limit": {"step": "a", "quantity": "q", "min": 2}}, Verdict.REFUTED),
    ],
)
def test_each_claim_is_proved_or_refuted_with_its_unit(tmp_path, parts, verdict):
    reading = 'readings = [{ quantity = "q", unit = "V", min = 1, source = "x" }]'
    held = f'{HOLD}\ngate_once_opened = "release"\n{reading}'
    pack = load(
        tmp_path,
        rule("all", "true", "a"),
        rule("laser", "unit.has_laser", "b"),
        step("a", held),
        step("b"),
    )
    found = prove.Prover(pack).check(claim(pack, **parts))
    assert found.verdict == verdict
    assert (found.facts is not None) is (verdict is Verdict.REFUTED)
    assert found.touched is (parts.get("touched") is True and verdict is Verdict.REFUTED)


def test_what_the_solver_cannot_say_is_told_where_a_change_is_asked_for(tmp_path):
    pack = load(tmp_path, rule("r", "unit.rated_watts / unit.mains_volts > 1.0", "a"), step("a"))
    with pytest.raises(NotTranslated):
        prove.smallest_change(pack, {}, "a")


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


# What hangs on the practice of the shop or on the cover: no fact of the unit brings these.
NOT_BROUGHT = {"us-cold-check", "live-measuring", "live-sinks"}


@pytest.mark.parametrize("step_", sorted(set(PACK.steps) - NOT_BROUGHT))
def test_a_smallest_change_always_works(step_):
    facts = amplifier(findings=[], work=[])
    change = prove.smallest_change(PACK, facts, step_)
    listed = derive(PACK, {**facts, **change}).by_key[step_]
    assert not listed.undetermined
    assert set(change) <= set(VOCABULARY)


@pytest.mark.parametrize("step_", sorted(NOT_BROUGHT))
def test_the_practice_of_the_shop_and_the_cover_are_no_facts_to_change(step_):
    facts = amplifier(findings=[], work=[], shop__practice="after-repair", job__cover="on")
    assert prove.smallest_change(PACK, facts, step_) is None


def test_several_pages_can_ask_at_once():
    facts = amplifier(findings=[], work=[])
    here = derive(PACK, facts).by_key
    absent = [key for key in PACK.steps if key not in here and key not in NOT_BROUGHT][:24]

    with ThreadPoolExecutor(6) as pool:
        changes = list(pool.map(lambda key: prove.smallest_change(PACK, facts, key), absent))

    for key, change in zip(absent, changes, strict=True):
        assert key in derive(PACK, {**facts, **change}).by_key
