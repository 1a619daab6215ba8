from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists import published
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from tests.checklists.engine.packs import load, rule, step
from tests.checklists.engine.strategies import fact_sets
from tests.helpers import amplifier

PACK = published.pack()


def keys(checklist):
    return [s.key for s in checklist.steps]


def test_a_rule_that_hits_requires_its_steps_and_says_why(tmp_path):
    told = rule("old", "unit.year < 1980", "look").replace(
        '"Because of old."', '"Built in {unit.year}, a {unit.kind}."'
    )
    pack = load(tmp_path, told, step("look"))

    [listed] = derive(pack, {"unit.year": 1975}).steps

    assert listed.reasons[0].text == "Built in 1975, a (not recorded)."
    assert listed.reasons[0].facts == {"unit.year": 1975}
    assert not listed.undetermined


def test_a_rule_that_misses_requires_nothing(tmp_path):
    pack = load(tmp_path, rule("old", "unit.year < 1980", "look"), step("look"))
    assert keys(derive(pack, {"unit.year": 1980})) == []


def test_an_undetermined_rule_keeps_its_step_and_says_what_would_settle_it(tmp_path):
    pack = load(tmp_path, rule("old", "unit.year < 1980", "look"), step("look"))

    checklist = derive(pack, {})

    assert keys(checklist) == ["look"]
    assert checklist.steps[0].undetermined
    assert checklist.missing_facts == ["unit.year"]
    assert "unit.year" in checklist.steps[0].reasons[0].text


def test_a_broken_rule_keeps_its_step(tmp_path):
    pack = load(tmp_path, rule("broken", "1 / 0 == 1", "look"), step("look"))

    [listed] = derive(pack, {}).steps

    assert listed.undetermined
    assert "could not be decided" in listed.reasons[0].text


def test_rules_that_require_one_step_merge_and_keep_every_reason(tmp_path):
    pack = load(
        tmp_path,
        rule("first", "unit.has_laser", "look"),
        rule("second", "true", "look"),
        step("look"),
    )

    [listed] = derive(pack, {}).steps

    assert [reason.rule.id for reason in listed.reasons] == ["first", "second"]
    assert not listed.undetermined, "one plain hit is enough"


READING = 'readings = [{ quantity = "ohms", unit = "ohm", max = 0.3, source = "common practice" }]'
TIGHTER = 'limits = [{ step = "earth", quantity = "ohms", max = 0.1, source = "the house" }]'
LOOSER = 'limits = [{ step = "earth", quantity = "ohms", max = 9.0, min = 0.0, source = "no" }]'


def test_the_strictest_limit_wins_and_brings_its_source(tmp_path):
    pack = load(
        tmp_path,
        rule("all", "true", "earth"),
        rule("tight", "unit.has_laser", "earth", more=TIGHTER),
        rule("loose", "true", "earth", more=LOOSER),
        step("earth", READING),
    )

    plain = derive(pack, {"unit.has_laser": False}).steps[0].readings[0]
    tight = derive(pack, {"unit.has_laser": True}).steps[0].readings[0]
    unsure = derive(pack, {}).steps[0].readings[0]

    assert (plain.low, plain.high) == (0.0, 0.3)
    assert (tight.high, "the house" in tight.source) == (0.1, True)
    assert unsure.high == 0.1, "a rule that cannot be decided limits as if it hit"


def test_a_limit_follows_the_facts_and_is_careful_without_them(tmp_path):
    limit = 'min = { known = "unit.rated_watts / 10.0", unknown = 99 }, source = "x"'
    more = f'readings = [{{ quantity = "w", unit = "W", {limit} }}]'
    pack = load(tmp_path, rule("all", "true", "power"), step("power", more))

    assert derive(pack, {"unit.rated_watts": 50.0}).steps[0].readings[0].low == 5.0
    assert derive(pack, {}).steps[0].readings[0].low == 99.0


def test_of_several_sums_the_first_counts_whose_facts_are_known(tmp_path):
    known = '["unit.idle_watts * 2.0", "unit.rated_watts / 10.0"]'
    limit = f'max = {{ known = {known}, unknown = 1 }}, source = "x"'
    more = f'readings = [{{ quantity = "w", unit = "W", {limit} }}]'
    pack = load(tmp_path, rule("all", "true", "power"), step("power", more))

    def highest(**facts):
        return derive(pack, {f"unit.{k}": v for k, v in facts.items()}).steps[0].readings[0].high

    assert highest(idle_watts=8.0, rated_watts=50.0) == 16.0
    assert highest(rated_watts=50.0) == 5.0
    assert highest() == 1.0


def test_a_plan_takes_the_first_sum_that_it_can_have_and_asks_for_the_first_of_all(tmp_path):
    sums = '["unit.rail_volts", "unit.rail_total_volts / 2.0"]'
    more = f'plan = {{ calculation = "discharge", arguments = {{ volts = {sums} }} }}'
    pack = load(tmp_path, rule("all", "true", "empty"), step("empty", more))

    [both] = derive(pack, {"unit.rail_volts": 45.0, "unit.rail_total_volts": 100.0}).steps
    [total] = derive(pack, {"unit.rail_total_volts": 90.0}).steps
    [neither] = derive(pack, {}).steps

    assert both.plan.arguments == total.plan.arguments == (("volts", 45.0),)
    assert total.plan.missing == ()
    assert neither.plan.missing == ("unit.rail_volts",)


def test_a_plan_names_what_it_still_needs(tmp_path):
    more = 'plan = { calculation = "discharge", arguments = { volts = "unit.rail_volts" } }'
    pack = load(tmp_path, rule("all", "true", "empty"), step("empty", more))

    assert derive(pack, {"unit.rail_volts": 75.0}).steps[0].plan.arguments == (("volts", 75.0),)
    unknown = derive(pack, {})
    assert unknown.steps[0].plan.missing == ("unit.rail_volts",)
    assert unknown.missing_facts == ["unit.rail_volts"]


def test_order_is_by_phase_then_after_then_place_in_the_files(tmp_path):
    pack = load(
        tmp_path,
        rule("all", "true", "d", "c", "b", "a"),
        step("d"),
        step("c", 'after = ["b"]'),
        step("b", 'after = ["a"]'),
        step("a").replace('phase = "work"', 'phase = "intake"'),
    )
    assert keys(derive(pack, {})) == ["a", "d", "b", "c"]


def test_a_step_moves_to_its_other_gate_once_the_unit_was_opened():
    facts = amplifier()
    opened = History.of([Event(sequence=1, event_type="cover_removed")])

    assert derive(PACK, facts).by_key["fuse-check"].gate == "first-power"
    assert derive(PACK, facts, opened).by_key["fuse-check"].gate == "limited-power"
    worked = derive(PACK, {**facts, "work": ["joints-reflowed"]})
    assert worked.by_key["fuse-check"].gate == "limited-power"


def test_the_json_has_the_shape_that_was_promised():
    shape = derive(PACK, amplifier(findings=[], work=[])).as_dict()

    assert set(shape) == {"pack", "missing_facts", "next_gate", "asks", "steps", "hazards"}
    assert set(shape["pack"]) == {"name", "version", "digest"}
    promised = {
        "key", "title", "gate", "hold", "phase", "caution", "because", "undetermined",
        "readings", "plan", "ended_by", "state",
    }  # fmt: skip
    for line in shape["steps"]:
        assert promised <= set(line)
        assert all({"rule", "text", "facts"} <= set(reason) for reason in line["because"])
        assert all(
            {"quantity", "unit", "min", "max", "source"} <= set(reading)
            for reading in line["readings"]
        )
    for line in shape["hazards"]:
        assert set(line) == {"key", "title", "meets", "cleared_by", "certain"}


@given(fact_sets(), st.data())
def test_knowing_less_never_takes_a_step_away(facts, data):
    forgotten = data.draw(st.sets(st.sampled_from(sorted(facts)))) if facts else set()
    fewer = {name: value for name, value in facts.items() if name not in forgotten}

    assert set(keys(derive(PACK, fewer))) >= set(keys(derive(PACK, facts)))


@given(fact_sets())
def test_the_same_facts_give_the_same_checklist(facts):
    shuffled = dict(reversed(list(facts.items())))
    assert derive(PACK, facts).as_dict() == derive(PACK, shuffled).as_dict()


@given(fact_sets())
def test_order_holds_every_after(facts):
    places = {key: place for place, key in enumerate(keys(derive(PACK, facts)))}
    for key, place in places.items():
        assert all(places[b] < place for b in PACK.steps[key].after if b in places)


@given(fact_sets())
def test_a_sign_off_stands_as_long_as_the_content_does(facts):
    for listed in derive(PACK, facts).steps:
        signed = Event(
            sequence=1,
            event_type="step_signed",
            by="bea",
            step=listed.key,
            result="pass",
            content_hash=listed.content_hash,
        )
        again = derive(PACK, facts, History.of([signed])).by_key[listed.key]
        assert again.state == "signed"


@pytest.mark.parametrize("change", [{"unit__rail_volts": 60.1}, {"unit__reservoir_uf": 47.0}])
def test_facts_that_change_the_plan_change_the_content_hash(change):
    before = derive(PACK, amplifier()).by_key["discharge-reservoirs"].content_hash
    after = derive(PACK, amplifier(**change)).by_key["discharge-reservoirs"].content_hash
    assert before != after


def test_facts_that_do_not_touch_a_step_leave_its_content_hash():
    before = derive(PACK, amplifier()).by_key["touch-current"].content_hash
    after = derive(PACK, amplifier(unit__year=1950)).by_key["touch-current"].content_hash
    assert before == after


def test_a_unit_seen_before_is_listed_alike_but_for_its_own_sign_offs(tmp_path, monkeypatch):
    pack = load(
        tmp_path, rule("high", "unit.rail_volts > 60.0", "look", "try"), step("look"), step("try")
    )
    monkeypatch.setattr("checklists.engine.derivation_cache.MOST_UNITS", 2)
    facts = {"unit.rail_volts": 90.0}
    first = derive(pack, facts)
    row = Event(
        sequence=1,
        event_type="step_signed",
        by="bea",
        step="look",
        result="pass",
        content_hash=first.steps[0].content_hash,
    )

    signed = derive(pack, dict(facts), History.of([row]))

    assert [s.state for s in signed.steps] == ["signed", "due"]
    assert [s.state for s in derive(pack, facts).steps] == ["due", "due"]
    others = [derive(pack, {"unit.rail_volts": volts}) for volts in (91.0, 92.0, 93.0)]
    told = [c.steps[0].reasons[0].facts["unit.rail_volts"] for c in others]
    assert told == [91.0, 92.0, 93.0]
    assert derive(pack, facts).steps == first.steps


@pytest.mark.parametrize("year", [2**63, -(2**63) - 1, 2**64])
def test_a_whole_number_that_cel_does_not_have_takes_no_step_off(year):
    of_no_year = derive(published.pack(), amplifier(unit__year=None))
    of_this = derive(published.pack(), amplifier(unit__year=year))
    assert set(of_no_year.by_key) <= set(of_this.by_key)


@pytest.mark.parametrize(
    ("fact", "first", "odd", "key"),
    [
        ("unit__rail_volts", 1.0, True, "discharge-reservoirs"),
        ("unit__has_laser", False, 0, "laser-closed-path"),
    ],
)
def test_a_value_of_another_type_is_not_taken_for_an_equal_one(fact, first, odd, key):
    derive(published.pack(), amplifier(**{fact: first}))
    assert key in derive(published.pack(), amplifier(**{fact: odd})).by_key
