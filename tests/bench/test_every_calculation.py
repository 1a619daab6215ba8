"""Every calculation with everything one might type: a result fit for JSON, or a sentence."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.units import unit_of
from tests.helpers_plain import examples

PLAIN = {name: one for name, one in registry.CALCULATIONS.items() if not one.shell_only}
ODD = [0, -1, 1e-300, 1e300, math.nan, math.inf, -math.inf, True, None, "12", "", [], 10**400]
SENSIBLE = {
    "number": st.one_of(st.floats(), st.floats(0, 1000), st.integers(-5, 10_000)),
    "whole": st.integers(-5, 200),
    "yes-no": st.booleans(),
    "text": st.text(max_size=20),
    "numbers": st.lists(st.one_of(st.floats(), st.floats(0, 200)), max_size=8),
    "texts": st.lists(st.text(max_size=20), max_size=3),
}

# One sensible call of each, to start from.
EXAMPLES = {
    "discharge": {"volts": 75.0, "microfarads": 10_000.0},
    "bleeder": {"volts": 75.0, "microfarads": 10_000.0, "target_volts": 10.0, "seconds": 60.0},
    "stored-energy": {"volts": 75.0, "microfarads": 10_000.0},
    "energy-class": {"dc_volts": 75.0},
    "capacitor-class": {"volts": 325.0, "nanofarads": 100.0},
    "mains-peak": {"rms_volts": 230.0},
    "wrong-mains": {"made_for_volts": 120.0, "supplied_volts": 230.0},
    "lamp-limiter": {"mains_volts": 230.0, "rated_watts": 100.0, "idle_watts": 30.0},
    "supply-limiter": {"rail_volts": 40.0, "idle_milliamps": 60.0, "microfarads": 10_000.0},
    "fuse-times": {"rated_amps": 2.0, "amps": 8.0},
    "fuse-plausible": {"fuse_amps": 2.0, "mains_volts": 230.0, "consumed_watts": 200.0},
    "fuse-rating": {"rated_amps": 2.0, "fuse_volts": 250.0, "circuit_volts": 230.0, "loop_ohms": 10.0},
    "pulse-duty": {"peak_amps": 30.0, "milliseconds": 2.0},
    "inrush": {"rms_volts": 230.0, "series_ohms": 10.0, "microfarads": 220.0},
    "emitter-bias": {"millivolts": 26.0, "emitter_ohms": 0.22, "rail_total_volts": 80.0},
    "bias-target": {"emitter_ohms": 0.22, "rail_total_volts": 80.0},
    "valve-idle": {"plate_volts": 450.0, "rated_watts": 25.0},
    "plate-dissipation": {"plate_volts": 450.0, "cathode_milliamps": 40.0, "rated_watts": 25.0},
    "class-a-idle": {"output_watts": 8.0, "load_ohms": 8.0, "supply_volts": 24.0},
    "class-b-dissipation": {"rail_volts": 40.0, "load_ohms": 8.0},
    "junction-temperature": {
        "ambient_celsius": 25.0, "device_watts": 30.0, "case_kelvin_per_watt": 1.0,
        "interface_kelvin_per_watt": 0.2, "sink_kelvin_per_watt": 1.2,
    },
    "required-sink": {"device_watts": 30.0, "case_kelvin_per_watt": 1.0, "interface_kelvin_per_watt": 0.2},
    "interface-swap": {"device_watts": 20.0},
    "warm-up": {"watts": 40.0, "sink_kelvin_per_watt": 0.6, "kilograms": 1.0, "seconds": 600.0},
    "heating-curve": {"minutes": [0.0, 10.0, 20.0, 30.0, 60.0], "celsius": [22.0, 35.0, 44.0, 50.0, 58.0]},
    "three-readings": {"first_celsius": 25.0, "second_celsius": 40.0, "third_celsius": 49.0, "step_minutes": 10.0},
    "soak-plan": {"hours": 8.0},
    "preferred-value": {"value": 4900.0},
    "electrolytic-life": {"rated_hours": 2000.0, "rated_celsius": 105.0, "used_celsius": 65.0},
    "mixed-duty": {"rated_hours": 1000.0, "rated_celsius": 105.0, "celsius": [45.0, 55.0], "hours_per_day": [8.0, 8.0]},
    "reforming": {"rated_volts": 450.0, "microfarads": 47.0, "idle_years": 20.0},
    "electrolytic-condition": {"marked_microfarads": 4700.0, "measured_microfarads": 3500.0},
    "impulse-level": {"safety_class": "X2", "microfarads": 2.2},
    "contact-resistance": {"millivolts": 62.0, "source_ohms": 0.04},
    "relay-coil": {"coil_volts": 24.0, "pull_in_volts": 15.0, "release_volts": 3.0},
    "contact-rating": {"volts": 60.0, "amps": 7.5},
    "earth-limit": {"cord_metres": 2.0},
    "earth-bond": {"ohms": 0.05},
    "touch-current": {"volts": 0.3},
    "weighted-touch-current": {"u2_volts": 0.1},
    "y-capacitor-current": {"nanofarads": 4.7},
    "insulation-resistance": {"megohms": 5.0},
    "static-guard": {},
    "meter-accuracy": {"reading": 0.06, "reading_percent": 2.0, "counts": 2.0, "resolution": 0.01},
    "combined-uncertainty": {"uncertainties": [25.0, 9.7, 2.9, 16.6], "degrees": [18.0, 25.6, 50.0, 2.0]},
    "guarded-verdict": {"reading": 0.06, "uncertainty": 0.02, "highest": 0.1},
    "meter-loading": {"reading_volts": -28.0, "source_ohms": 470_000.0},
    "lead-resistance": {"reading_ohms": 0.5, "lead_ohms": 0.3},
    "safe-area": {"rail_volts": 40.0, "load_ohms": 8.0, "rated_watts": 150.0, "curve_volts": [10.0, 80.0], "curve_amps": [15.0, 1.0]},
    "derating": {"rated_watts": 115.0, "case_celsius": 80.0},
    "matching": {"readings": [100.0, 104.0, 120.0, 99.0]},
    "current-sharing": {"total_amps": 2.0, "apart_millivolts": 20.0, "emitter_ohms": 0.22},
    "cathode-bias": {"cathode_volts": 18.0, "cathode_ohms": 270.0, "plate_volts": 320.0, "rated_watts": 12.0},
    "screen-dissipation": {"drop_volts": 4.0, "resistor_ohms": 1000.0, "screen_volts": 300.0, "rated_watts": 2.0},
    "reflected-load": {"primary_volts": 10.0, "secondary_volts": 0.4, "load_ohms": 8.0},
    "heater-dropper": {"supply_volts": 230.0, "heater_volts": [14.0, 45.0, 31.0], "heater_milliamps": 100.0},
    "transformer-load": {
        "primary_volts": 230.0, "secondary_volts": 30.0, "primary_ohms": 10.0, "secondary_ohms": 0.3, "load_amps": 2.0,
    },
    "winding-temperature": {"cold_ohms": 10.0, "hot_ohms": 12.5},
    "rectifier-transformer": {"dc_volts": 35.0, "dc_amps": 2.0},
    "ripple": {"load_amps": 2.0, "microfarads": 10_000.0, "peak_volts": 42.0},
    "reservoir-size": {"load_amps": 2.0, "ripple_volts": 2.0},
    "zener-resistor": {
        "lowest_volts": 18.0, "highest_volts": 24.0, "zener_volts": 12.0, "load_milliamps": 20.0, "rated_watts": 1.3,
    },
    "adjustable-regulator": {"input_volts": 20.0, "upper_ohms": 240.0, "lower_ohms": 2000.0, "load_amps": 0.5},
    "esr-limit": {"microfarads": 470.0, "rated_volts": 50.0, "measured_ohms": 0.2},
    "series-balance": {"total_volts": 600.0, "rated_volts": 450.0, "leakage_milliamps": 1.0},
    "colour-code": {"bands": ["yellow", "violet", "red", "gold"]},
    "resistor-code": {"code": "4k7"},
    "capacitor-code": {"code": "104K"},
    "date-code": {"code": "M5"},
    "wire-gauge": {"awg": 18.0},
    "series-resistor": {"supply_volts": 12.0, "load_volts": 2.0, "load_milliamps": 10.0},
    "divider": {"input_volts": 12.0, "upper_ohms": 10_000.0, "lower_ohms": 2_200.0},
    "pad": {"loss_decibels": 10.0, "ohms": 600.0},
    "corner": {"ohms": 10_000.0, "microfarads": 0.1},
    "crossover": {"hertz": 3000.0, "ohms": 8.0},
    "zobel": {"coil_ohms": 6.0, "coil_millihenries": 0.5},
    "snubber": {
        "ring_kilohertz": 10_000.0, "added_picofarads": 300.0, "slower_kilohertz": 5000.0, "step_volts": 50.0,
        "switching_kilohertz": 100.0,
    },
    "impedance": {"load_volts": 1.0, "resistor_volts": 1.25, "resistor_ohms": 10.0, "total_volts": 2.1, "rated_ohms": 8.0},
    "wire-drop": {"metres": 10.0, "square_millimetres": 2.5, "amps": 5.0},
    "fault-rate": {"faults": 3.0, "trials": 15.0},
    "clean-trials": {"faults": 3.0, "trials": 15.0},
    "clean-run": {"clean": 29.0},
    "before-after": {"faults_before": 3.0, "trials_before": 5.0, "faults_after": 0.0, "trials_after": 10.0},
    "test-order": {"probabilities": [0.5, 0.3], "minutes": [10.0, 2.0]},
    "output-power": {"rms_volts": 20.0, "load_ohms": 8.0},
    "volts-for": {"watts": 50.0, "load_ohms": 8.0},
    "distortion-power": {"rms_volts": [20.0, 25.0, 28.0], "thd_percent": [0.05, 0.1, 3.0]},
    "gain": {"input_millivolts": 500.0, "output_volts": 14.0, "rated_watts": 50.0},
    "slew-rate": {"rms_volts": 28.3, "rise_volts": 40.0, "rise_microseconds": 2.0},
    "level-units": {"value": 4.0, "unit": "dBu"},
    "damping": {"unloaded_volts": 20.0, "loaded_volts": 19.8},
    "decibels": {"value": 10.0, "reference": 0.01},
    "clipped-sine": {"clip_percent": 80.0},
    "clip-level": {"thd_f_percent": 1.0},
    "thd-of-shape": {"shape": "square"},
    "thd-by-total": {"thd_f_percent": 48.3},
    "sidebands": {"lower_percent": 0.1, "upper_percent": 0.1},
    "full-scale": {"tone_volts": 1.0, "level_decibels": -6.0},
    "speed-error": {"measured": 3180.0, "wanted": 3150.0},
    "equalisation": {"curve": "riaa", "hertz": 20.0},
    "equalisation-deviation": {"curve": "riaa", "hertz": [100.0, 1000.0, 10_000.0], "decibels": [13.0, 0.0, -13.5]},
    "azimuth-angle": {"phase_degrees": 45.0, "hertz": 8000.0},
    "head-losses": {"hertz": 10_000.0},
    "tape-level": {"test_nanowebers_per_metre": 200.0},
    "tape-bias": {"bias_millivolts": [80.0, 90.0, 100.0, 110.0, 120.0, 130.0], "decibels": [-3.0, -1.0, 0.0, -1.2, -3.4, -6.0]},
    "shelf-time": {"inside": 24.0, "finished_per_day": 1.2},
    "lead-time": {"middle_days": 10.0, "slow_days": 21.0},
    "finish-chance": {"finished_each_week": [2.0, 3.0, 4.0], "wanted": 9.0, "weeks": 3.0},
    "cheapest-order": {"needs": ["relay=2"], "offers": ["North:relay:1@2.50+10@2.20"], "postage": ["North=4.90"]},
    "substitute-capacitor": {"needed_microfarads": 4700.0, "offered_microfarads": 4700.0},
    "substitute-resistor": {"needed_ohms": 0.22, "offered_ohms": 0.22, "needed_watts": 5.0, "offered_watts": 5.0},
    "substitute-fuse": {"needed_amps": 3.15, "offered_amps": 3.15},
    "substitute-relay": {"needed_coil_volts": 24.0, "offered_coil_volts": 24.0},
    "substitute-power-transistor": {"needed_polarity": "NPN", "offered_polarity": "PNP"},
    "substitute-mosfet": {"needed_polarity": "N", "offered_polarity": "P"},
    "substitute-diode": {"needed_amps": 1.0, "offered_amps": 3.0},
    "substitute-zener": {"needed_zener_volts": 12.0, "offered_zener_volts": 12.0},
    "substitute-optocoupler": {"needed_insulation": "basic", "offered_insulation": "reinforced"},
    "substitute-thermal-fuse": {"needed_open_celsius": 115.0, "offered_open_celsius": 115.0},
    "substitute-ntc": {"needed_cold_ohms": 10.0, "offered_cold_ohms": 10.0},
    "substitute-varistor": {"needed_joules": 40.0, "offered_joules": 75.0},
    "substitute-belt": {"needed_inner_millimetres": 70.0, "offered_inner_millimetres": 70.0},
    "substitute-valve": {"needed_base": "octal", "offered_base": "octal"},
    "substitute-lamp": {"needed_volts": 8.0, "offered_volts": 8.0},
    "substitute-pinch-roller": {"needed_width_millimetres": 8.0, "offered_width_millimetres": 8.0},
    "substitute-suppression-capacitor": {"needed_safety_class": "X2", "offered_safety_class": "Y2"},
}  # fmt: skip


def sentence_of(name, arguments):
    """The sentence of bad input, or nothing for a result fit for JSON; all else is a fault."""
    try:
        json.dumps(registry.run(name, arguments), allow_nan=False)
    except ValueError as error:
        return str(error)
    return ""


def test_there_is_an_example_of_each():
    assert set(EXAMPLES) == set(PLAIN)


@pytest.mark.parametrize("name", PLAIN)
def test_a_sensible_call_gives_a_result(name):
    result = registry.run(name, EXAMPLES[name])
    assert result
    json.dumps(result, allow_nan=False)


@pytest.mark.parametrize("name", PLAIN)
def test_odd_values_get_a_sentence_that_names_the_input(name):
    for asked in PLAIN[name].inputs.values():
        if asked.kind in ("yes-no", "whole", "text"):
            continue
        for odd in ODD:
            said = sentence_of(name, EXAMPLES[name] | {asked.name: odd})
            bare = asked.name.split("_", 1)[-1]
            assert not said or asked.name in said or bare in said or "needed" in said, said


@pytest.mark.parametrize("name", PLAIN)
@settings(max_examples=examples(40), deadline=None)
@given(data=st.data())
def test_whatever_is_typed_never_breaks_it(name, data):
    arguments = {}
    for asked in PLAIN[name].inputs.values():
        if asked.needed or data.draw(st.booleans()):
            drawn = st.sampled_from(asked.words) if asked.words else SENSIBLE[asked.kind]
            arguments[asked.name] = data.draw(drawn, label=asked.name)
    said = sentence_of(name, arguments)
    assert not said or (len(said) > 10 and said[-1] in ".)"), said


@pytest.mark.parametrize("name", registry.CALCULATIONS)
def test_every_calculation_tells_formula_source_and_caution(name):
    one = registry.CALCULATIONS[name]
    assert one.about.endswith(".")
    assert one.formula
    assert one.source
    assert one.caution.split(".")[0] in ("DANGER", "WARNING", "CAUTION", "NOTICE")


def test_inputs_and_results_carry_their_unit_in_the_name():
    # What has no unit is a count, a ratio, a word or a list of texts.
    bare = {
        "value", "reference", "measured", "pulses", "power_factor", "esr_ratio", "confidence", "rate", "faults", "trials",
        "clean", "faults_before", "trials_before", "faults_after", "trials_after", "probabilities",
        "inside", "wanted", "weeks", "finished_each_week", "needs", "offers", "postage", "channel",
        "reference_channel", "path", "needed_current_gain", "offered_current_gain",
        "reading", "counts", "resolution", "full_range", "uncertainties", "sensitivities", "degrees",
        "uncertainty", "highest", "lowest", "coverage_factor",
        "readings", "together", "pairs", "valves", "in_series", "order", "awg", "swg", "tan_delta",
        "needed_teeth", "offered_teeth", "needed_hardness_shore", "offered_hardness_shore",
    }  # fmt: skip
    for one in registry.CALCULATIONS.values():
        for asked in one.inputs.values():
            if asked.kind in ("number", "numbers") and asked.name not in bare:
                assert unit_of(asked.name), (one.name, asked.name)
