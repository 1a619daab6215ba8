"""Nothing leaves with a hazard up; what is tested before it leaves is tested in the state it leaves in."""

from __future__ import annotations

from typing import Any

import pytest

from tests.jobs.hazards.hands import codes, refused, steps
from tests.jobs.hazards.units import class_ab

GRAVE = ["mains-lead-damaged", "insulator-cracked"]
# Nobody leaves a unit alone with these, nor lets it go.
DANGERS = [*GRAVE, "dust-heavy"]
# Measured with the plug out, open or closed; closing ends it.
ISOLATED = ["earth-continuity", "insulation-resistance"]
CLOSED = ["touch-current", "covers-and-labels", "full-function"]


@pytest.fixture
def unit(hands):
    return hands.receive(facts=class_ab())


@pytest.fixture
def ready(hands, unit):
    """A unit that was open, is closed, tested and soaked; nothing is left but to release it."""
    hands.ready_to_leave(unit)
    return unit


@pytest.mark.parametrize("finding", DANGERS)
def test_a_hazard_found_after_the_soak_keeps_the_unit_here(hands, ready, finding):
    hands.record(ready, "finding_recorded", finding=finding)
    refused(hands.stage, ready, "released")


def test_what_is_no_hazard_lets_it_leave(hands, ready):
    hands.record(ready, "finding_recorded", finding="control-scratchy")
    assert hands.stage(ready, "released").stage == "released"


def test_work_after_the_tests_keeps_the_unit_here(hands, ready):
    hands.record(ready, "work_done", work="fuse-replaced", from_outside=True)
    refused(hands.stage, ready, "released")


@pytest.mark.parametrize("finding", GRAVE)
def test_a_hazard_found_late_keeps_the_unit_from_going_back_too(hands, unit, finding):
    hands.sign_all(unit)
    hands.record(unit, "finding_recorded", finding=finding)
    refused(hands.stage, unit, "withdrawn")


def test_a_unit_goes_back_unrepaired_once_it_is_closed_and_told_in_writing(hands, unit):
    hands.record(unit, "finding_recorded", finding="mains-lead-damaged")
    hands.sign_all(unit, without=("hand-back-warned",))
    assert "hand-back-warned" in steps(refused(hands.stage, unit, "withdrawn"))
    hands.sign_all(unit)
    assert hands.stage(unit, "withdrawn").stage == "withdrawn"


def test_a_unit_does_not_go_back_open(hands, unit):
    hands.opened(unit)
    hands.sign_all(unit)
    refused(hands.stage, unit, "withdrawn")
    hands.cover(unit, "on")
    hands.sign_all(unit)
    assert hands.stage(unit, "withdrawn").stage == "withdrawn"


@pytest.mark.parametrize("key", [*CLOSED, "hand-back-closed"])
def test_what_is_true_of_the_closed_unit_is_not_signed_open(hands, unit, key):
    hands.sign_all(unit, without=(key,))
    hands.cover(unit, "off")
    hands.sign_all(unit, without=(key,))
    assert "wrong-cover" in codes(refused(hands.sign, unit, key))


def test_touch_current_is_not_measured_open_on_full_mains(hands, unit):
    hands.opened(unit)
    hands.on_full(unit)
    assert "wrong-cover" in codes(refused(hands.sign, unit, "touch-current"))


@pytest.mark.parametrize(
    ("key", "power"), [("earth-continuity", "limited"), ("insulation-resistance", "full")]
)
def test_what_is_tested_with_the_plug_out_is_not_signed_under_mains(hands, unit, key, power):
    {"limited": hands.on_limiter, "full": hands.on_full}[power](unit)
    assert "wrong-power" in codes(refused(hands.sign, unit, key))


def test_what_is_tested_with_the_plug_out_is_signed_closed_and_in_order(hands, unit):
    hands.opened(unit)
    hands.cover(unit, "on")
    assert "earth-continuity" in steps(refused(hands.sign, unit, "insulation-resistance"))
    for key in ISOLATED:
        assert hands.sign(unit, key).state == "signed"


def test_what_is_tested_with_the_plug_out_while_open_ends_on_closing(hands, unit):
    hands.opened(unit)
    assert {hands.state(unit, key) for key in ISOLATED} == {"signed"}
    hands.cover(unit, "on")
    assert {hands.state(unit, key) for key in ISOLATED} == {"ended"}


def test_touch_current_needs_full_mains(hands, unit):
    hands.sign_all(unit, without=("touch-current",))
    assert "wrong-power" in codes(refused(hands.sign, unit, "touch-current"))
    hands.on_limiter(unit, without=("touch-current",))
    assert "wrong-power" in codes(refused(hands.sign, unit, "touch-current"))
    hands.sign_all(unit, without=("touch-current",))
    hands.power(unit, "full")
    assert hands.sign(unit, "touch-current").state == "signed"


def test_touch_current_comes_after_insulation(hands, unit):
    first = "insulation-resistance"
    hands.on_full(unit, without=(first, "touch-current"))
    refused(hands.sign, unit, "touch-current")
    hands.power(unit, "isolated")
    hands.sign(unit, first)
    hands.on_full(unit, without=("touch-current",))
    assert hands.sign(unit, "touch-current").state == "signed"


FAILS = [
    ("earth-continuity", ("earth_ohms", 4.0), 0.1),
    ("insulation-resistance", ("insulation_megohms", 0.2), 50.0),
]


@pytest.mark.parametrize(("key", "bad", "good"), FAILS)
@pytest.mark.parametrize("power", ["limited", "full"])
def test_a_failed_earth_or_insulation_keeps_mains_off_until_it_passes(
    hands, unit, key, bad, good, power
):
    hands.on_full(unit)
    hands.power(unit, "isolated")
    hands.sign_all(unit)
    assert hands.sign(unit, key, readings=[bad]).state == "failed"
    assert steps(refused(hands.power, unit, power)) == {key}
    hands.sign_all(unit, without=(key,))
    assert steps(refused(hands.power, unit, power)) == {key}
    assert hands.sign(unit, key, readings=[(bad[0], good)]).state == "signed"
    assert hands.power(unit, power).power == power


@pytest.mark.parametrize("key", [key for key, _, _ in FAILS])
def test_mains_for_a_trial_does_not_wait_for_tests_that_nobody_has_made(hands, unit, key):
    hands.sign_all(unit, without=(key, "touch-current"))
    assert hands.power(unit, "limited").power == "limited"


@pytest.mark.parametrize(
    ("key", "work"),
    [
        ("earth-continuity", "mains-wiring-changed"),
        ("insulation-resistance", "transformer-replaced"),
    ],
)
def test_mains_after_work_at_the_mains_waits_for_earth_and_insulation(hands, unit, work, key):
    hands.opened(unit)
    hands.record(unit, "work_done", work=work)
    hands.sign_all(unit)
    hands.cover(unit, "on")
    hands.sign_all(unit, without=(key,))
    assert key in steps(refused(hands.power, unit, "limited"))
    hands.sign_all(unit)
    assert hands.power(unit, "limited").power == "limited"


def test_opening_once_more_ends_what_was_tested_closed(hands, ready):
    tested = [*ISOLATED, *CLOSED]
    assert {hands.state(ready, key) for key in tested} == {"signed"}
    hands.cover(ready, "off")
    hands.sign_all(ready)
    hands.cover(ready, "on")
    assert {hands.state(ready, key) for key in tested} == {"ended"}
    refused(hands.stage, ready, "released")


def test_a_unit_that_never_soaked_does_not_leave(hands, unit):
    hands.opened(unit)
    hands.closed(unit)
    hands.soaking(unit)
    hands.sign_all(unit)
    hands.power(unit, "isolated")
    hands.sign_all(unit)
    assert hands.state(unit, "soak-run") != "signed"
    assert "soak-run" in steps(refused(hands.stage, unit, "released"))


def test_what_was_signed_before_it_could_be_done_lets_nothing_leave(hands, unit):
    hands.opened(unit)
    for key in (*CLOSED, "soak-run"):
        assert not hands.try_to_sign(unit, key), key


def soaked_for(hands: Any, number: int, **time: float) -> None:
    hands.opened(number)
    hands.closed(number)
    hands.soaking(number, without=("soak-run",))
    hands.record(number, "soak_started")
    hands.wait(**time)
    hands.record(number, "soak_ended")


def test_hours_are_not_typed_beyond_those_that_ran(hands, unit):
    soaked_for(hands, unit, minutes=10)
    refused(hands.sign, unit, "soak-run", readings=[("soak_hours", 5.0)])
    assert hands.state(unit, "soak-run") != "signed"


def test_a_soak_that_was_too_short_does_not_pass(hands, unit):
    soaked_for(hands, unit, minutes=10)
    hands.try_to_sign(unit, "soak-run")
    assert hands.state(unit, "soak-run") != "signed"


def test_hours_come_from_the_record(hands, unit):
    soaked_for(hands, unit, hours=5)
    assert hands.sign(unit, "soak-run", readings=[]).state == "signed"
    [row] = [row for row in hands.job(unit).ledger.all() if row.data.get("step") == "soak-run"]
    [hours] = [one for one in row.data["readings"] if one["quantity"] == "soak_hours"]
    assert 5.0 <= hours["value"] < 5.2


def test_hours_that_ran_may_be_typed(hands, unit):
    soaked_for(hands, unit, hours=5)
    assert hands.sign(unit, "soak-run", readings=[("soak_hours", 5.0)]).state == "signed"


@pytest.fixture
def coming_and_going(hands):
    return hands.receive(facts=class_ab(complaint__intermittent=True))


def test_trials_are_counted_from_the_record(hands, coming_and_going):
    number = coming_and_going
    hands.opened(number)
    hands.closed(number)
    hands.soaking(number)
    for _ in range(40):
        hands.record(number, "trial_run", fault=False)
    assert hands.sign(number, "clean-trials", readings=[]).state == "signed"


def test_trials_that_were_never_run_are_not_counted(hands, coming_and_going):
    number = coming_and_going
    hands.opened(number)
    hands.closed(number)
    hands.soaking(number)
    hands.try_to_sign(number, "clean-trials")
    assert hands.state(number, "clean-trials") != "signed"
