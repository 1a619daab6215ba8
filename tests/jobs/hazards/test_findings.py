"""A finding is never refused, raises its hazard at once, and ends what it makes dangerous."""

from __future__ import annotations

from typing import Any

import pytest

from checklists.engine.vocabulary import FINDINGS
from shop.lib.refusals import Refused
from tests.jobs.hazards.hands import refused, state
from tests.jobs.hazards.units import class_ab

# What nobody leaves mains on with.
GRAVE = ["fuse-blown", "insulator-cracked", "mains-lead-damaged"]
INSIDE = ["insulator-cracked"]
HARMLESS = ["dust-heavy", "control-scratchy"]
DAMAGE = {
    "liquid": "no-power-before-look-inside",
    "cord-damaged": "mains-entry-sound",
    "loose-inside": "loose-part-found",
}


@pytest.fixture
def unit(hands):
    return hands.receive(facts=class_ab())


def find(hands: Any, number: int, finding: str) -> Any:
    return hands.record(number, "finding_recorded", finding=finding, note="as it is seen")


@pytest.mark.parametrize("finding", GRAVE)
def test_a_grave_finding_keeps_mains_off_an_untouched_unit(hands, unit, finding):
    hands.sign_all(unit)
    find(hands, unit, finding)
    refused(hands.power, unit, "limited")


@pytest.mark.parametrize("finding", HARMLESS)
def test_a_harmless_finding_lets_mains_on(hands, unit, finding):
    hands.sign_all(unit)
    find(hands, unit, finding)
    assert hands.power(unit, "limited").power == "limited"


@pytest.mark.parametrize("finding", INSIDE)
def test_what_is_cured_inside_cannot_be_signed_away_on_a_closed_unit(hands, unit, finding):
    find(hands, unit, finding)
    hands.sign_all(unit)
    refused(hands.power, unit, "limited")


@pytest.mark.parametrize("finding", INSIDE)
def test_what_is_cured_in_the_open_unit_lets_mains_on(hands, unit, finding):
    find(hands, unit, finding)
    hands.opened(unit)
    hands.record(unit, "work_done", work="output-devices-replaced")
    hands.on_limiter(unit)
    assert hands.job(unit).power == "limited"


@pytest.mark.parametrize(
    ("finding", "power"), [("fuse-blown", "full"), ("output-device-shorted", "limited")]
)
def test_a_grave_finding_takes_mains_off_at_once(hands, unit, finding, power):
    {"limited": hands.on_limiter, "full": hands.on_full}[power](unit)
    find(hands, unit, finding)
    assert state(hands.job(unit)) == ("isolated", "on", True)
    assert hands.live_permit(unit) is None
    assert hands.traveller(unit).record.findings == [finding]


def test_a_harmless_finding_leaves_mains_on(hands, unit):
    hands.on_full(unit)
    find(hands, unit, "control-scratchy")
    assert state(hands.job(unit)) == ("full", "on", False)


def test_a_grave_finding_on_an_opened_unit_takes_mains_off(hands, unit):
    hands.opened(unit)
    hands.on_limiter(unit)
    find(hands, unit, "insulator-cracked")
    assert state(hands.job(unit)) == ("isolated", "off", True)


def test_a_grave_finding_in_a_soak_ends_it(hands, unit):
    hands.opened(unit)
    hands.closed(unit)
    hands.soaking(unit)
    hands.record(unit, "soak_started")
    find(hands, unit, "insulator-cracked")
    assert hands.job(unit).power == "isolated"
    assert hands.traveller(unit).record.soak == "interrupted"


@pytest.fixture
def unplug_due(hands, unit):
    """An open unit whose permit fell: nobody has said that the plug is out."""
    hands.opened(unit)
    hands.record(unit, "part_needed", spec="relay 24 V")
    hands.on_limiter(unit)
    find(hands, unit, "insulator-cracked")
    assert hands.job(unit).unplug_due
    return unit


def test_until_the_plug_is_out_the_unit_is_treated_as_live(hands, unplug_due):
    for act in (
        lambda: hands.record(unplug_due, "work_done", work="joints-reflowed"),
        lambda: hands.record(unplug_due, "part_fitted"),
        lambda: hands.sign(unplug_due, "verify-dead"),
        lambda: hands.sign(unplug_due, "unplugged-lead-in-sight"),
        lambda: hands.sign(unplug_due, "shorts-before-power"),
        lambda: hands.power(unplug_due, "limited"),
    ):
        refused(act)


def test_until_the_plug_is_out_the_cover_stays_on(hands, unit):
    hands.on_limiter(unit)
    find(hands, unit, "insulator-cracked")
    assert hands.job(unit).unplug_due
    refused(hands.cover, unit, "off")


def test_what_ends_the_exposure_is_accepted_before_the_plug_is_out(hands, unplug_due):
    find(hands, unplug_due, "resistor-burnt")
    # A lid slides past bare live terminals: the plug comes first.
    refused(hands.cover, unplug_due, "on")
    assert state(hands.power(unplug_due, "isolated")) == ("isolated", "off", False)
    assert hands.cover(unplug_due, "on").cover == "on"


def test_once_the_plug_is_out_it_is_proved_dead_and_worked_on(hands, unplug_due):
    hands.power(unplug_due, "isolated")
    refused(hands.record, unplug_due, "work_done", work="insulator-material-changed")
    hands.sign_all(unplug_due)
    hands.record(unplug_due, "work_done", work="insulator-material-changed")
    hands.on_limiter(unplug_due)
    assert hands.job(unplug_due).power == "limited"


def test_no_finding_is_refused_in_any_state(hands, unit):
    def all_of_them() -> None:
        for finding in FINDINGS:
            find(hands, unit, finding)

    all_of_them()
    hands.sign_all(unit)
    try:
        hands.power(unit, "limited")
    except Refused:
        hands.cover(unit, "off")
    all_of_them()
    assert set(hands.traveller(unit).record.findings) == set(FINDINGS)


@pytest.mark.parametrize(("damage", "key"), DAMAGE.items())
def test_damage_seen_later_ends_the_all_clear(hands, damage, key):
    number = hands.receive(facts=class_ab(intake__damage=None))
    hands.sign_all(number)
    hands.record(number, "fact_recorded", name="intake.damage", value=[damage])
    assert hands.state(number, key) != "signed"
    refused(hands.power, number, "limited")


def test_damage_seen_later_takes_mains_off(hands):
    number = hands.receive(facts=class_ab())
    hands.on_limiter(number)
    hands.record(number, "fact_recorded", name="intake.damage", value=["liquid"])
    assert state(hands.job(number)) == ("isolated", "on", True)


def test_a_fact_that_is_no_damage_ends_no_all_clear(hands, unit):
    hands.sign_all(unit)
    hands.record(unit, "fact_recorded", name="unit.year", value=2011)
    assert hands.power(unit, "limited").power == "limited"


def test_damage_that_is_taken_back_leaves_its_hazard_up(hands):
    number = hands.receive(facts=class_ab())
    hands.sign_all(number)
    hands.record(number, "fact_recorded", name="intake.damage", value=["liquid"])
    hands.record(number, "fact_recorded", name="intake.damage", value=["none"])
    refused(hands.power, number, "limited")


@pytest.mark.parametrize("finding", ["mains-lead-damaged", "insulation-damaged"])
def test_a_damaged_lead_found_later_ends_the_sound_entry(hands, finding):
    number = hands.receive(facts=class_ab(intake__damage=["cord-damaged"]))
    hands.opened(number)
    hands.record(number, "work_done", work="mains-wiring-changed")
    hands.cover(number, "on")
    hands.sign_all(number)
    assert hands.state(number, "mains-entry-sound") == "signed"
    find(hands, number, finding)
    refused(hands.power, number, "limited")
