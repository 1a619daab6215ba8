"""Healthy units arrive at their release by what the next act says; sick ones are stopped first.

Readings are the true values of `*.bench.toml`, never made from limits. A few walk in every run,
all of them in the long one; `python -m tests.units` walks and prints them.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.units.fault import Harm
from tests.units.technician import Stuck
from tests.units.walking import faults_of, shipped, walked

HEALTHY = {unit.name: unit for unit in shipped().healthy}
SICK = {unit.name: unit for unit in shipped().sick}
IN_EVERY_RUN = (
    "push-pull valve combo, cathode bias",
    "class A integrated amplifier",
    "primary bus charged, bleeder open",
    "wire pinched on closing",
)
AMPLIFIER = HEALTHY["class AB integrated amplifier"]

pytestmark = pytest.mark.django_db


def each(units, usual=IN_EVERY_RUN):
    """Return the names as parameters, slow but for those of every run."""
    return [n if n in usual else pytest.param(n, marks=pytest.mark.slow) for n in units]


@pytest.mark.parametrize("name", each(HEALTHY))
def test_a_healthy_unit_is_released_and_nothing_fails(name):
    assert faults_of(walked(HEALTHY[name])) == []


@pytest.mark.parametrize("name", each(HEALTHY, usual=IN_EVERY_RUN[:1]))
def test_a_healthy_unit_of_which_little_is_told_is_released_too(name):
    assert faults_of(walked(HEALTHY[name], tells_all=False)) == []


@pytest.mark.parametrize("name", each(SICK))
def test_a_sick_unit_is_stopped_in_time_and_released_when_it_is_mended(name):
    assert faults_of(walked(SICK[name])) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", SICK)
def test_a_sick_unit_of_which_little_is_told_is_stopped_too(name):
    assert faults_of(walked(SICK[name], tells_all=False)) == []


# One changed value, or the fault made invisible, has to change the outcome.


@pytest.mark.parametrize(
    ("quantity", "value", "step"),
    [
        ("rail_ohms", 0.3, "shorts-before-power"),
        pytest.param("earth_ohms", 3.0, "earth-continuity", marks=pytest.mark.slow),
        pytest.param("emitter_millivolts", 95.0, "bias-set-hot", marks=pytest.mark.slow),
        pytest.param("sink_celsius", 97.0, "the soak failed", marks=pytest.mark.slow),
    ],
)
def test_a_healthy_unit_with_one_wrong_value_is_held(quantity, value, step):
    with pytest.raises(Stuck, match=step):
        walked(replace(AMPLIFIER, true={**AMPLIFIER.true, quantity: value}))


@pytest.mark.slow
def test_a_fault_that_no_meter_shows_gets_to_where_it_hurts():
    unit = SICK["two volts of direct voltage at the output"]
    with pytest.raises(Harm):
        walked(replace(unit, wrong=unit.true))


def test_a_value_that_the_unit_does_not_have_is_not_made_up():
    without = {k: v for k, v in AMPLIFIER.true.items() if k != "rail_ohms"}
    without.pop("rail_to_rail_ohms")
    with pytest.raises(Stuck, match="lowest_ohms"):
        walked(replace(AMPLIFIER, true=without))


def test_a_sick_unit_that_is_stopped_elsewhere_or_in_other_words_is_not_as_it_must_be():
    technician = walked(SICK["shorted output device"])
    unit = technician.unit
    other = unit.sick.model_copy(update={"stopped_by": ["dc-offset"], "says": ["laser"]})
    technician.unit = replace(unit, sick=other)
    said = " ".join(faults_of(technician))
    assert "stopped it, not dc-offset" in said
    assert "nothing said laser" in said
