"""No step that proves a unit harmless to touch is read over a line; tried on every step."""

from __future__ import annotations

from dataclasses import replace

import pytest

from checklists import published
from checklists.engine.metering import why_not
from checklists.engine.pack import Reading
from checklists.engine.words import MEASURED, METERED

PACK = published.pack()
ASKED = [
    (step.key, reading.quantity)
    for step in PACK.steps.values()
    for reading in step.readings
    if reading.measures
]
# Each was looked at by a person: measured under mains, and a still 0 V of a lead that came off
# hurts nobody by itself.
MAY = {
    ("phantom-volts", "phantom_volts"),
    ("preamp-muting", "output_dc_millivolts"),
    ("headphone-dc", "headphone_dc_millivolts"),
    ("protection-test", "trip_volts"),
    ("negative-bias-present", "grid_volts"),
    ("limited-idle-current", "limited_mains_amps"),
    ("dc-offset", "offset_millivolts"),
    ("dc-offset", "before_relay_millivolts"),
    ("bias-set-hot", "emitter_millivolts"),
    ("soak-run", "highest_sink_celsius"),
}
# Dead test, discharge, primary bus, insulation, earth, touch current, and what is like them.
NEVER = {
    "verify-dead",
    "discharge-reservoirs",
    "switch-mode-primary",
    "insulation-resistance",
    "adaptor-insulation",
    "earth-continuity",
    "touch-current",
    "protective-conductor-current",
    "suppression-bleeder",
    "us-cold-check",
    "memory-restored",
    "shorts-before-power",
    "insulator-isolation",
}


def measures(key, quantity):
    return next(r.measures for r in PACK.steps[key].readings if r.quantity == quantity)


@pytest.mark.parametrize(("key", "quantity"), ASKED)
def test_every_reading_of_the_pack(key, quantity):
    refused = why_not(PACK, PACK.steps[key], measures(key, quantity))
    assert (not refused) == ((key, quantity) in MAY)
    assert (key in NEVER) == bool(refused)
    assert not refused or refused.endswith(".")


@pytest.mark.parametrize("key", sorted(PACK.steps))
@pytest.mark.parametrize("word", sorted(MEASURED))
def test_a_step_that_clears_what_hurts_hands_is_refused_whatever_it_measures(key, word):
    """Also with a reading that the pack does not have: a shop may add one."""
    step = PACK.steps[key]
    met = {exposure for h in PACK.hazards_cleared_by(key) for exposure in h.meets}
    if met & {"cover-off", "hands", "hand-back"} or step.gate in ("open-up", "hands-in"):
        assert why_not(PACK, step, word)
    if word not in METERED:
        assert why_not(PACK, step, word)


@pytest.mark.parametrize("word", ["", "loudness", "dc-voltage ", "DC-VOLTAGE"])
def test_a_word_that_is_not_known_is_refused(word):
    assert why_not(PACK, PACK.steps["dc-offset"], word)


def test_a_step_that_says_nothing_of_mains_is_refused():
    assert why_not(PACK, replace(PACK.steps["dc-offset"], needs_power=()), "dc-voltage")
    both = replace(PACK.steps["dc-offset"], needs_power=("isolated", "full"))
    assert why_not(PACK, both, "dc-voltage")


def test_a_hazard_that_is_not_in_the_table_is_refused():
    strange = replace(PACK.steps["dc-offset"], hazards=frozenset({"of-another-edition"}))
    assert why_not(PACK, strange, "dc-voltage")


def test_another_way_to_what_a_tester_proves_is_refused():
    """A shop's own step measures touch current as volts across a resistor, under mains."""
    hazard = PACK.hazards_cleared_by("touch-current")[0]
    also = replace(hazard, also=("dc-offset",))
    rest = tuple(one for one in PACK.hazards if one is not hazard)
    assert why_not(replace(PACK, hazards=(*rest, also)), PACK.steps["dc-offset"], "ac-voltage")


def test_what_the_pack_may_ask_can_be_read():
    reading = Reading(quantity="x", title="x", unit="W", source="", measures="power")
    step = replace(PACK.steps["phantom-volts"], readings=(reading,))
    assert why_not(PACK, step, "power") == ""
