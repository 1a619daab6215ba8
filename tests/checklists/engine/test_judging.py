from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists import published
from checklists.engine import judging
from checklists.engine.derive import derive
from tests.checklists.engine.packs import load, rule, step
from tests.helpers import amplifier, reading_outside, reading_within

CHECKLIST = derive(published.pack(), amplifier(findings=[], work=[]))
OFFSET = CHECKLIST.by_key["dc-offset"]


def test_each_value_is_judged_against_the_limits_for_this_unit():
    judged = judging.take(OFFSET, [("offset_millivolts", 12), ("offset_millivolts", -51.0)])

    assert [r.passed for r in judged] == [True, False]
    assert (judged[1].low, judged[1].high, judged[1].unit) == (-50, 50, "mV")


def test_a_limit_itself_passes():
    assert judging.take(OFFSET, [("offset_millivolts", 50)])[0].passed
    assert judging.take(OFFSET, [("offset_millivolts", -50)])[0].passed


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, "12", None, True, [1], 10**400])
def test_what_is_no_finite_number_is_refused_with_the_unit(value):
    with pytest.raises(judging.ReadingError, match="must be a number of mV"):
        judging.take(OFFSET, [("offset_millivolts", value)])


def test_a_quantity_that_is_not_read_here_is_refused():
    with pytest.raises(judging.ReadingError, match="'volts' is not read here"):
        judging.take(OFFSET, [("volts", 1.0)])


def test_too_many_readings_are_refused():
    with pytest.raises(judging.ReadingError, match="201 readings"):
        judging.take(OFFSET, [("offset_millivolts", 1.0)] * 201)


def test_a_reading_outside_turns_a_pass_into_a_fail_and_nothing_into_a_pass():
    outside = judging.take(OFFSET, [("offset_millivolts", 400)])
    inside = judging.take(OFFSET, [("offset_millivolts", 4)])

    assert judging.result("pass", outside) == "fail"
    assert judging.result("pass", inside) == "pass"
    assert judging.result("fail", inside) == "fail"


def test_only_required_readings_are_missed():
    fuse, idle = CHECKLIST.by_key["fuse-check"], CHECKLIST.by_key["limited-idle-current"]
    assert judging.missing(fuse, []) == []
    lamp = [r.quantity for r in judging.missing(idle, [])]
    assert lamp == ["limiter_percent"], "a closed unit is judged by the lamp alone"
    missed = [r.quantity for r in judging.missing(OFFSET, [])]
    assert missed == ["offset_millivolts", "before_relay_millivolts"]


READINGS = [
    (listed, reading)
    for listed in CHECKLIST.steps
    for reading in listed.readings
    if reading.low is not None or reading.high is not None
]


@pytest.mark.parametrize("pair", READINGS, ids=lambda pair: f"{pair[0].key}/{pair[1].quantity}")
def test_every_limit_of_the_pack_passes_inside_and_fails_outside(pair):
    listed, reading = pair
    for value, passes in ((reading_within(reading), True), (reading_outside(reading), False)):
        [judged] = judging.take(listed, [(reading.quantity, value)])
        assert judged.passed is passes


def listed(tmp_path, unit, limits):
    reading = f'readings = [{{ quantity = "q", unit = "{unit}", {limits}, source = "x" }}]'
    return derive(load(tmp_path, rule("r", "true", "a"), step("a", reading)), {}).by_key["a"]


@pytest.mark.parametrize("unit", ["V", "mV", "A", "mA", "uA"])
def test_a_polarity_is_a_magnitude_whichever_way_round_the_probes_are(tmp_path, unit):
    step_ = listed(tmp_path, unit, "max = 60")
    judged = judging.take(step_, [("q", -400), ("q", 400), ("q", -59)])
    assert [(r.value, r.passed) for r in judged] == [(-400, False), (400, False), (-59, True)]


def test_a_minimum_of_a_magnitude_counts_either_way(tmp_path):
    judged = judging.take(listed(tmp_path, "V", "min = 5"), [("q", -12), ("q", -4)])
    assert [r.passed for r in judged] == [True, False]


def test_a_signed_reading_keeps_its_sign(tmp_path):
    step_ = listed(tmp_path, "V", "signed = true, min = -60, max = -20")
    judged = judging.take(step_, [("q", -40), ("q", 40)])
    assert [r.passed for r in judged] == [True, False]


@pytest.mark.parametrize("unit", ["ohm", "Mohm", "h", "trials", "%", "C", "W", "dB", "kV"])
def test_what_has_no_polarity_is_not_below_zero(tmp_path, unit):
    step_ = listed(tmp_path, unit, "max = 60")
    with pytest.raises(judging.ReadingError, match=f"q is -0.2 {unit}; it cannot be below zero"):
        judging.take(step_, [("q", -0.2)])
    assert [r.passed for r in judging.take(step_, [("q", 0), ("q", -0.0)])] == [True, True]


def test_a_signed_temperature_may_be_below_zero(tmp_path):
    [judged] = judging.take(
        listed(tmp_path, "C", "signed = true, min = -10, max = 40"), [("q", -5)]
    )
    assert judged.passed


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_judging_agrees_with_the_range(value):
    [judged] = judging.take(OFFSET, [("offset_millivolts", value)])
    assert judged.passed == (-50 <= value <= 50)


def test_a_reading_that_no_value_could_fail_need_not_be_taken():
    """The winding of an output transformer reads next to nothing: at least 0 ohm asks for nothing."""
    of_valves = derive(published.pack(), amplifier(unit__output_stage="valve-push-pull"))
    of_nobody_knows = derive(published.pack(), amplifier(unit__output_stage=None))

    def missing(checklist):
        step = checklist.by_key["shorts-before-power"]
        return {reading.quantity for reading in judging.missing(step, [])}

    assert missing(of_valves) == {"lowest_ohms"}
    assert missing(CHECKLIST) == missing(of_nobody_knows) == {"lowest_ohms", "output_ohms"}
