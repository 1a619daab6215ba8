"""Limits and plans of the shipped pack beside the calculations of the bench, and what nobody waives."""

from __future__ import annotations

import pytest
from django.conf import settings

from checklists.engine import reading_packs
from checklists.engine.derive import derive
from checklists.engine.vocabulary import accept
from shop.bench import registry
from shop.bench.electrical.limiter import IDLE_WATTS, idle_watts_of
from shop.bench.electrical.safety_tests import earth_limit

PACK = reading_packs.load(settings.PACK_FOLDER)


def listed(key, **facts):
    known = accept({name.replace("__", "."): value for name, value in facts.items()})
    return derive(PACK, known).by_key[key]


def highest(key, quantity, **facts):
    readings = {reading.quantity: reading for reading in listed(key, **facts).readings}
    return readings[quantity].high


@pytest.mark.parametrize("stage", IDLE_WATTS)
@pytest.mark.parametrize("rated", [5.0, 30.0, 120.0])
def test_lamp_and_idle_current_go_by_what_the_stage_usually_draws(stage, rated):
    facts = {"unit__output_stage": stage, "unit__rated_watts": rated, "unit__mains_volts": 230.0}
    usual = idle_watts_of(stage, rated)

    assert dict(listed("limiter-first-power", **facts).plan.arguments)["idle_watts"] == usual
    amps = highest("limited-idle-current", "limited_mains_amps", **facts)
    assert amps == pytest.approx(1.5 * usual / 230)


def test_what_is_recorded_of_the_idle_power_sizes_the_lamp():
    facts = {"unit__idle_watts": 100.0, "unit__output_stage": "valve-push-pull"}
    plan = listed("limiter-first-power", unit__rated_watts=30.0, unit__mains_volts=230.0, **facts)
    arguments = dict(plan.plan.arguments)

    assert arguments["idle_watts"] == 100.0
    lamp, _ = registry.plan_result("lamp-limiter", arguments)
    assert lamp["lamp_watts"] == 200
    # A short draws more than is accepted at idle, whatever the lamp.
    assert lamp["ceiling_amps"] > 1.5 * 100 / 230


@pytest.mark.parametrize("metres", [0.5, 2, 5, 5.1, 12.5, 13, 20, 30, 45, 60, 150])
@pytest.mark.parametrize("area", [0.75, 1.5, 2.5, 4])
def test_the_earth_is_judged_as_the_bench_works_it_out(metres, area):
    facts = {"unit__lead_metres": metres, "unit__lead_mm2": area, "shop__practice": "after-repair"}
    limit = highest("earth-continuity", "earth_ohms", **facts)
    assert limit == pytest.approx(earth_limit(metres, area).limit_ohms, abs=2e-3)


def test_a_valve_plan_asks_for_the_rating_and_the_bias_and_assumes_neither():
    facts = {"unit__output_stage": "valve-push-pull", "unit__rail_volts": 450.0}
    asked = listed("valve-bias", **facts).plan.missing
    assert asked == ("unit.plate_watts", "unit.valve_bias")

    known = {"unit__plate_watts": 12.0, "unit__valve_bias": "cathode"}
    arguments = dict(listed("valve-bias", **facts, **known).plan.arguments)
    assert arguments == {"plate_volts": 450.0, "rated_watts": 12.0, "share_percent": 100.0}


def test_heat_is_worked_out_for_one_rail_of_two():
    facts = {"unit__rail_total_volts": 90.0, "unit__rated_load_ohms": 8.0}
    work = ["insulator-material-changed"]
    assert dict(listed("junction-recomputed", work=work, **facts).plan.arguments) == {
        "rail_volts": 45.0,
        "load_ohms": 8.0,
    }


@pytest.mark.parametrize(("corrected", "volts"), [(True, 400.0), (False, 0.0), (None, 400.0)])
def test_a_primary_bus_that_may_be_corrected_is_planned_for_400_volts(corrected, volts):
    facts = {} if corrected is None else {"unit__pfc_bus": corrected}
    plan = listed("switch-mode-primary", unit__supply="switch-mode", **facts).plan
    assert dict(plan.arguments)["corrected_bus_volts"] == volts


NEVER_WAIVED = [
    "unplugged-lead-in-sight",
    "discharge-reservoirs",
    "switch-mode-primary",
    "verify-dead",
    "earth-continuity",
    "protective-conductor-current",
    "insulation-resistance",
    "touch-current",
    "limiter-first-power",
    "limited-idle-current",
]


@pytest.mark.parametrize("key", NEVER_WAIVED)
def test_nobody_waives_what_a_life_hangs_on(key):
    assert PACK.steps[key].waivable_by == ()


def test_what_can_be_waived_says_what_is_done_instead():
    waivable = [step for step in PACK.steps.values() if step.waivable_by]
    assert {"shorts-before-power", "insulator-isolation"} <= {step.key for step in waivable}
    assert all(step.instead.endswith(".") for step in waivable)
