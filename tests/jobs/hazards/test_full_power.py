"""Full power asks its own holds, not the limiter; what needs mains is not asked before mains."""

from __future__ import annotations

import pytest

from checklists.engine.pack import PackError
from shop.lib.refusals import Refused
from tests.checklists.engine import packs
from tests.helpers import Bench
from tests.jobs.hazards.hands import codes, refused, state, steps
from tests.jobs.hazards.units import class_ab, valve_combo


@pytest.fixture
def unit(hands):
    return hands.receive(facts=class_ab())


def test_full_power_stays_without_the_limiter(hands, unit):
    hands.on_full(unit)
    assert hands.state(unit, "limiter-first-power") == "ended"
    hands.record(unit, "note_added", text="plays")
    assert state(hands.job(unit)) == ("full", "on", False)


def test_full_power_comes_straight_back_when_nothing_was_done(hands, unit):
    hands.on_full(unit)
    for _ in range(3):
        hands.power(unit, "isolated")
        assert hands.power(unit, "full").power == "full"


def test_full_power_comes_straight_back_after_a_trial(hands, unit):
    hands.on_full(unit)
    hands.record(unit, "trial_run", fault=True)
    hands.power(unit, "isolated")
    assert hands.power(unit, "full").power == "full"


def test_full_power_never_comes_first(hands, unit):
    hands.sign_all(unit)
    refused(hands.power, unit, "full")


def test_after_work_full_power_does_not_come_straight_back(hands, unit):
    hands.opened(unit)
    hands.on_full(unit)
    hands.power(unit, "isolated")
    hands.sign_all(unit)
    hands.record(unit, "work_done", work="output-devices-replaced")
    hands.sign_all(unit)
    refused(hands.power, unit, "full")
    assert hands.power(unit, "limited").power == "limited"


def test_once_the_cover_was_off_full_power_does_not_come_straight_back(hands, unit):
    hands.on_full(unit)
    hands.power(unit, "isolated")
    hands.sign_all(unit)
    hands.cover(unit, "off")
    hands.sign_all(unit)
    hands.cover(unit, "on")
    hands.sign_all(unit)
    refused(hands.power, unit, "full")


def test_a_new_hazard_keeps_full_power_from_coming_straight_back(hands, unit):
    hands.on_full(unit)
    hands.power(unit, "isolated")
    hands.record(unit, "finding_recorded", finding="insulator-cracked")
    refused(hands.power, unit, "full")


@pytest.mark.parametrize("key", ["limited-idle-current", "dc-offset", "bias-set-hot"])
def test_what_is_measured_under_mains_cannot_be_signed_cold(hands, unit, key):
    hands.sign_all(unit, without=(key,))
    assert "wrong-power" in codes(refused(hands.sign, unit, key))


@pytest.mark.parametrize("key", ["limited-idle-current", "dc-offset"])
def test_full_power_waits_for_what_is_measured_on_the_limiter(hands, unit, key):
    hands.opened(unit)
    hands.on_limiter(unit)
    hands.sign_all(unit, without=(key,))
    assert key in steps(refused(hands.power, unit, "full"))
    hands.sign_all(unit)
    assert hands.power(unit, "full").power == "full"


def test_new_valves_get_the_limiter_before_their_bias_is_measured(hands):
    number = hands.receive(facts=valve_combo())
    hands.opened(number)
    hands.record(number, "work_done", work="valves-replaced")
    hands.sign_all(number, without=("negative-bias-present",))
    assert "wrong-power" in codes(refused(hands.sign, number, "negative-bias-present"))
    hands.power(number, "limited")
    hands.sign_all(number, without=("negative-bias-present",))
    assert "negative-bias-present" in steps(refused(hands.power, number, "full"))
    hands.sign(number, "negative-bias-present")
    hands.sign_all(number)
    assert hands.power(number, "full").power == "full"


def test_a_new_transformer_is_measured_on_the_limiter(hands):
    number = hands.receive(facts=class_ab())
    hands.opened(number)
    hands.record(number, "work_done", work="transformer-replaced")
    hands.on_limiter(number, without=("transformer-phasing",))
    hands.sign_all(number, without=("transformer-phasing",))
    assert "transformer-phasing" in steps(refused(hands.power, number, "full"))
    assert hands.sign(number, "transformer-phasing").state == "signed"


@pytest.mark.parametrize(
    ("gate", "power"),
    [("limited-power", "limited"), ("limited-power", "full"), ("open-up", "full")],
)
def test_a_pack_whose_hold_needs_what_it_forbids_does_not_load(tmp_path, gate, power):
    hold = f'gate = "{gate}"\nhold = true\nneeds_power = ["{power}"]'
    with pytest.raises(PackError):
        packs.load(tmp_path, packs.step("circle", hold), packs.rule("r", "true", "circle"))


def test_a_pack_whose_hold_can_be_done_loads(tmp_path):
    hold = 'gate = "full-power"\nhold = true\nneeds_power = ["limited"]'
    pack = packs.load(tmp_path, packs.step("line", hold), packs.rule("r", "true", "line"))
    assert pack.steps["line"].needs_power == ("limited",)


@pytest.mark.parametrize("role", ["owner", "viewer"])
def test_taking_mains_off_asks_nothing(hands, people, unit, role):
    hands.on_full(unit)
    hands.record(unit, "finding_recorded", finding="fuse-wrong")
    by = Bench(people.named(role))
    assert state(by.power(unit, "isolated")) == ("isolated", "on", False)
    assert state(by.power(unit, "isolated")) == ("isolated", "on", False)


def test_taking_mains_off_a_unit_that_has_left_asks_nothing(hands, unit):
    hands.opened(unit)
    hands.closed(unit)
    hands.sign_all(unit)
    hands.stage(unit, "withdrawn")
    assert hands.power(unit, "isolated").power == "isolated"
    with pytest.raises(Refused):
        hands.power(unit, "limited")
