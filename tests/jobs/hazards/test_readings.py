"""A reading is a magnitude or has a sign; a magnitude is judged by how far it is from nothing."""

from __future__ import annotations

import pytest

from checklists.engine.pack import PackError
from shop.lib.refusals import BadInput
from tests.checklists.engine import packs
from tests.jobs.hazards.units import class_ab, switch_mode, valve_combo

LEFT_OVER = [
    ("verify-dead", "highest_volts", class_ab()),
    ("discharge-reservoirs", "residual_volts", valve_combo()),
    ("switch-mode-primary", "primary_bus_volts", switch_mode()),
]
SIGNED = 'quantity = "mv", unit = "mV", signed = true, source = "common practice"'


def with_reading(folder, reading):
    hold = f'gate = "release"\nhold = true\nreadings = [{{ {reading} }}]'
    return packs.load(folder, packs.step("read", hold), packs.rule("r", "true", "read"))


def open_for(hands, key, facts):
    """An open unit in which nothing is left but to read this."""
    number = hands.receive(facts=facts)
    hands.sign_all(number, without=(key,))
    # Also where the reading itself is still asked for before the cover comes off.
    if key not in hands.unmet(number, "open-up"):
        hands.cover(number, "off")
    hands.sign_all(number, without=(key,))
    return number


@pytest.mark.parametrize("volts", [-400.0, 61.0])
@pytest.mark.parametrize(("key", "quantity", "facts"), LEFT_OVER)
def test_volts_that_are_left_are_judged_without_their_sign(hands, key, quantity, facts, volts):
    number = open_for(hands, key, facts)
    assert hands.sign(number, key, readings=[(quantity, volts)]).state == "failed"


@pytest.mark.parametrize("volts", [-4.0])
@pytest.mark.parametrize(("key", "quantity", "facts"), LEFT_OVER)
def test_hardly_any_volts_pass_either_way_round(hands, key, quantity, facts, volts):
    number = open_for(hands, key, facts)
    assert hands.sign(number, key, readings=[(quantity, volts)]).state == "signed"


def on_the_limiter(hands, number, quantity):
    """Readings of a sound unit, but for one ten times its limit the wrong way round."""
    hands.on_limiter(number)
    step = hands.step(number, "limited-idle-current")
    sound = {one.quantity: (one.low or 0.0) for one in step.readings}
    [judged] = [one for one in step.readings if one.quantity == quantity]
    return list((sound | {quantity: -10 * judged.high}).items())


def test_what_is_read_on_the_limiter_is_judged_without_its_sign(hands):
    number = hands.receive(facts=class_ab())
    readings = on_the_limiter(hands, number, "limited_mains_amps")
    assert hands.sign(number, "limited-idle-current", readings=readings).state == "failed"


def test_what_has_no_polarity_is_not_below_zero(hands):
    number = hands.receive(facts=class_ab())
    readings = on_the_limiter(hands, number, "rail_difference_percent")
    with pytest.raises(BadInput, match="cannot be below zero"):
        hands.sign(number, "limited-idle-current", readings=readings)


@pytest.mark.parametrize(("millivolts", "state"), [(-60.0, "failed"), (-10.0, "signed")])
def test_an_offset_keeps_its_sign_and_has_two_limits(hands, millivolts, state):
    number = hands.receive(facts=class_ab())
    hands.on_full(number)
    readings = [("offset_millivolts", millivolts), ("before_relay_millivolts", -4.0)]
    assert hands.sign(number, "dc-offset", readings=readings).state == state
    reading = hands.job(number).ledger.filter(event_type="step_signed").last().data["readings"][0]
    assert reading["value"] == millivolts


def test_a_signed_quantity_needs_both_its_limits(tmp_path):
    both = with_reading(tmp_path / "both", f"{SIGNED}, min = -50, max = 50")
    assert both.steps["read"].readings[0].quantity == "mv"
    for end in ("min = -50", "max = 50"):
        with pytest.raises(PackError, match="mv"):
            with_reading(tmp_path / end[:3], f"{SIGNED}, {end}")


def test_a_rule_puts_no_one_sided_limit_on_a_signed_quantity(tmp_path):
    hold = f'gate = "release"\nhold = true\nreadings = [{{ {SIGNED}, min = -50, max = 50 }}]'
    step = packs.step("read", hold)
    limit = 'limits = [{ step = "read", quantity = "mv", END, source = "common practice" }]'
    whole = packs.rule("r", "true", "read", more=limit.replace("END", "min = -20, max = 20"))
    packs.load(tmp_path / "whole", step, whole)
    half = packs.rule("r", "true", "read", more=limit.replace("END", "max = 20"))
    with pytest.raises(PackError, match="mv"):
        packs.load(tmp_path / "half", step, half)


def test_a_magnitude_has_one_limit(tmp_path):
    pack = with_reading(tmp_path, 'quantity = "v", unit = "V", max = 60, source = "x"')
    assert pack.steps["read"].readings[0].low is None


@pytest.mark.parametrize("amps", [20.0, 100.0])
def test_a_fuse_of_any_size_does_not_pass_where_its_rating_is_unknown(hands, amps):
    number = hands.receive(facts=class_ab(unit__fuse_amps=None))
    readings = [("mains_fuse_amps", amps)]
    hands.sign_all(number, without=("fuse-check",))
    assert hands.sign(number, "fuse-check", readings=readings).state == "failed"


@pytest.mark.parametrize(("amps", "state"), [(2.0, "signed"), (1.6, "signed"), (2.5, "failed")])
def test_a_fuse_is_judged_by_the_plate(hands, amps, state):
    number = hands.receive(facts=class_ab())
    hands.sign_all(number, without=("fuse-check",))
    readings = [("mains_fuse_amps", amps)]
    assert hands.sign(number, "fuse-check", readings=readings).state == state


def test_the_bias_of_the_sheet_is_the_limit(hands):
    number = hands.receive(facts=class_ab(unit__bias_millivolts=15.0))
    [reading] = hands.step(number, "bias-set-hot").readings
    assert not reading.admits(95.0)
    assert reading.admits(15.0)
    assert not reading.admits(11.0)
    unknown = hands.receive(facts=class_ab(unit__bias_millivolts=None))
    [reading] = hands.step(unknown, "bias-set-hot").readings
    assert reading.admits(30.0)
