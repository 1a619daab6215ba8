"""The first hand into an open unit: dead is proved with the cover off, and since mains was last on."""

from __future__ import annotations

from contextlib import suppress

import pytest

from shop.lib.refusals import Refused
from tests.jobs.hazards.hands import codes, refused, steps
from tests.jobs.hazards.units import class_ab, portable, switch_mode, valve_combo

CHARGED = {"valve-450-volts": valve_combo(), "switch-mode": switch_mode()}
PROBED = [
    ("discharge-reservoirs", valve_combo()),
    ("switch-mode-primary", switch_mode()),
    ("verify-dead", class_ab()),
]


@pytest.fixture(params=CHARGED)
def charged(request, hands):
    """A unit that was proved dead, then had mains with its cover off, and has it no longer."""
    number = hands.receive(facts=CHARGED[request.param])
    hands.after_mains(number)
    return number


@pytest.mark.parametrize(("key", "facts"), PROBED)
def test_what_is_done_by_probe_stands_at_the_gate_of_the_first_hand(hands, key, facts):
    number = hands.receive(facts=facts)
    assert hands.step(number, key).gate == "hands-in"


@pytest.mark.parametrize(("key", "facts"), PROBED)
def test_what_is_done_by_probe_cannot_be_signed_on_a_closed_unit(hands, key, facts):
    number = hands.receive(facts=facts)
    hands.sign_all(number, without=(key,))
    assert "wrong-cover" in codes(refused(hands.sign, number, key))


@pytest.mark.parametrize(("key", "facts"), PROBED)
def test_what_is_done_by_probe_cannot_be_signed_under_mains(hands, key, facts):
    number = hands.receive(facts=facts)
    hands.opened(number)
    hands.on_limiter(number)
    assert "wrong-power" in codes(refused(hands.sign, number, key))


@pytest.mark.parametrize(("key", "facts"), PROBED)
def test_what_is_done_by_probe_is_signed_open_and_isolated(hands, key, facts):
    number = hands.receive(facts=facts)
    hands.opened(number)
    assert hands.state(number, key) == "signed"


def test_the_cover_comes_off_before_dead_is_proved(hands):
    number = hands.receive(facts=valve_combo())
    hands.sign_all(number, without=("verify-dead", "discharge-reservoirs"))
    assert hands.cover(number, "off").cover == "off"


def test_the_cover_stays_on_while_the_plug_is_not_out(hands):
    number = hands.receive(facts=valve_combo())
    hands.sign_all(number, without=("unplugged-lead-in-sight",))
    assert "unplugged-lead-in-sight" in steps(refused(hands.cover, number, "off"))


@pytest.mark.parametrize("missing", ["verify-dead", "discharge-reservoirs"])
def test_no_hand_goes_in_before_dead_is_proved(hands, missing):
    number = hands.receive(facts=valve_combo())
    hands.sign_all(number, without=("verify-dead", "discharge-reservoirs"))
    hands.cover(number, "off")
    hands.sign_all(number, without=(missing,))
    refusal = refused(hands.record, number, "work_done", work="relay-cleaned")
    assert missing in steps(refusal)
    hands.sign_all(number)
    hands.record(number, "work_done", work="relay-cleaned")


def test_mains_recharges_so_work_waits_for_a_new_dead_test(hands, charged):
    refusal = refused(hands.record, charged, "work_done", work="relay-cleaned")
    assert "verify-dead" in steps(refusal)
    hands.sign_all(charged)
    assert hands.record(charged, "work_done", work="relay-cleaned").event_type == "work_done"


def test_full_mains_recharges_too(hands):
    number = hands.receive(facts=valve_combo())
    hands.opened(number)
    hands.on_full(number)
    hands.power(number, "isolated")
    refusal = refused(hands.record, number, "work_done", work="valves-replaced")
    assert {"verify-dead", "discharge-reservoirs"} <= steps(refusal)


def test_mains_recharges_so_a_part_waits_too(hands, charged):
    hands.record(charged, "part_needed", spec="relay 24 V")
    assert "verify-dead" in steps(refused(hands.record, charged, "part_fitted"))
    hands.sign_all(charged)
    assert hands.record(charged, "part_fitted").event_type == "part_fitted"


def test_a_step_inside_waits_too(hands, charged):
    assert hands.state(charged, "verify-dead") == "ended"
    refused(hands.sign, charged, "shorts-before-power")
    hands.sign_all(charged)
    assert hands.sign(charged, "shorts-before-power").state == "signed"


def test_the_next_step_after_mains_is_to_prove_it_dead(hands, charged):
    hands.try_to_sign(charged, "unplugged-lead-in-sight")
    following = hands.traveller(charged).checklist.by_key.get(hands.job(charged).next_step)
    assert following is not None
    assert following.gate == "hands-in"


def test_a_discharge_without_the_dead_test_lets_no_hand_in(hands):
    number = hands.receive(facts=valve_combo())
    hands.after_mains(number)
    hands.sign_all(number, without=("verify-dead",))
    assert hands.state(number, "discharge-reservoirs") == "signed"
    assert "verify-dead" in steps(refused(hands.record, number, "work_done", work="relay-cleaned"))


def test_a_failed_dead_test_keeps_hands_out(hands):
    number = hands.receive(facts=valve_combo())
    hands.opened(number)
    hands.sign(number, "verify-dead", readings=[("highest_volts", 310.0)])
    assert "verify-dead" in steps(refused(hands.record, number, "work_done", work="relay-cleaned"))


def test_a_dead_test_called_not_applicable_lets_no_hand_in(hands):
    number = hands.receive(facts=valve_combo())
    hands.after_mains(number)
    hands.sign_all(number, without=("verify-dead",))
    with suppress(Refused):
        hands.sign(number, "verify-dead", "not-applicable", note="looked dead", readings=[])
    refused(hands.record, number, "work_done", work="relay-cleaned")


def test_a_guess_does_not_discharge_what_was_charged(hands):
    number = hands.receive(facts=valve_combo())
    hands.after_mains(number)
    hands.record(number, "fact_recorded", name="unit.rail_volts", value=20.0)
    refused(hands.record, number, "work_done", work="relay-cleaned")


def test_a_unit_on_a_battery_is_not_charged(hands):
    number = hands.receive(facts=portable())
    hands.after_mains(number)
    hands.sign_all(number, without=("verify-dead", "discharge-reservoirs"))
    assert hands.record(number, "work_done", work="joints-reflowed").event_type == "work_done"


def test_nobody_knows_that_an_unknown_unit_is_not_charged(hands):
    number = hands.receive(facts={})
    hands.after_mains(number)
    refused(hands.record, number, "work_done", work="joints-reflowed")


def test_work_under_mains_is_refused(hands):
    number = hands.receive(facts=class_ab())
    hands.opened(number)
    hands.on_limiter(number)
    refused(hands.record, number, "work_done", work="joints-reflowed")
    assert hands.job(number).power == "limited", "a refused entry is no entry"
