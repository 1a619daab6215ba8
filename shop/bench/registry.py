"""The calculations by name, for the shell, the pages, and the plans of steps."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from shop.bench.audio import (
    amplifier,
    distortion,
    equalisation,
    flutter,
    intermodulation,
    levels,
    noise,
    response,
    separation,
    stepped,
    tape,
    tone,
)
from shop.bench.calculations import Calculation, Input
from shop.bench.electrical import (
    bias,
    capacitor_checks,
    capacitors,
    contact_ratings,
    contacts,
    discharge,
    energy,
    filters,
    fuse_duty,
    fuses,
    guard_bands,
    heating,
    limiter,
    markings,
    matching,
    meter_effects,
    pads,
    preferred_values,
    reservoirs,
    resistors,
    safe_area,
    safety_tests,
    soak,
    thermal,
    transformers,
    uncertainty,
    valve_stages,
    wires,
)
from shop.bench.electrical.part_judges import PartClass
from shop.bench.electrical.part_specs import PART_CLASSES
from shop.bench.electrical.substitution import Substitution, substitute
from shop.bench.inputs import Doubtful
from shop.bench.purchasing import cheapest_order, lead_times
from shop.bench.statistics import flow, intermittent, suspects
from shop.bench.titles import Words

_BY_GROUP: dict[str, tuple[tuple[str, Callable[..., Any]], ...]] = {
    "Stored energy": (
        ("discharge", discharge.discharge),
        ("bleeder", discharge.bleeder),
        ("stored-energy", energy.stored_energy),
        ("energy-class", energy.energy_class),
        ("capacitor-class", energy.capacitor_class),
        ("mains-peak", energy.mains_peak),
        ("wrong-mains", energy.wrong_mains),
    ),
    "First power": (
        ("lamp-limiter", limiter.lamp_limiter),
        ("supply-limiter", limiter.supply_limiter),
        ("fuse-times", fuses.fuse_times),
        ("fuse-plausible", fuses.fuse_plausible),
        ("fuse-rating", fuse_duty.fuse_rating),
        ("pulse-duty", fuse_duty.pulse_duty),
        ("inrush", fuse_duty.inrush),
    ),
    "Bias": (
        ("emitter-bias", bias.emitter_bias),
        ("bias-target", bias.bias_target),
        ("valve-idle", bias.valve_idle),
        ("plate-dissipation", bias.plate_dissipation),
        ("class-a-idle", bias.class_a_idle),
    ),
    "Heat": (
        ("class-b-dissipation", thermal.class_b_dissipation),
        ("junction-temperature", thermal.junction_temperature),
        ("required-sink", thermal.required_sink),
        ("interface-swap", thermal.interface_swap),
        ("warm-up", thermal.warm_up),
        ("heating-curve", heating.heating_curve),
        ("three-readings", heating.three_readings),
        ("soak-plan", soak.soak_plan),
    ),
    "Output stage": (
        ("safe-area", safe_area.safe_area),
        ("derating", safe_area.derating),
        ("matching", matching.matching),
        ("current-sharing", matching.current_sharing),
    ),
    "Valves": (
        ("cathode-bias", valve_stages.cathode_bias),
        ("screen-dissipation", valve_stages.screen_dissipation),
        ("reflected-load", valve_stages.reflected_load),
        ("heater-dropper", valve_stages.heater_dropper),
    ),
    "Supplies": (
        ("transformer-load", transformers.transformer_load),
        ("winding-temperature", transformers.winding_temperature),
        ("rectifier-transformer", transformers.rectifier_transformer),
        ("ripple", reservoirs.ripple),
        ("reservoir-size", reservoirs.reservoir_size),
        ("zener-resistor", resistors.zener_resistor),
        ("adjustable-regulator", resistors.adjustable_regulator),
    ),
    "Parts": (
        ("preferred-value", preferred_values.preferred_value),
        ("electrolytic-life", capacitors.electrolytic_life),
        ("mixed-duty", capacitors.mixed_duty),
        ("reforming", capacitors.reforming),
        ("electrolytic-condition", capacitors.electrolytic_condition),
        ("impulse-level", capacitors.impulse_level),
        ("contact-resistance", contacts.contact_resistance),
        ("relay-coil", contacts.relay_coil),
        ("contact-rating", contact_ratings.contact_rating),
        ("esr-limit", capacitor_checks.esr_limit),
        ("series-balance", capacitor_checks.series_balance),
        ("colour-code", markings.colour_code),
        ("resistor-code", markings.resistor_code),
        ("capacitor-code", markings.capacitor_code),
        ("date-code", markings.date_code),
        ("wire-gauge", wires.wire_gauge),
    ),
    "Circuits": (
        ("series-resistor", resistors.series_resistor),
        ("divider", resistors.divider),
        ("pad", pads.pad),
        ("corner", filters.corner),
        ("crossover", filters.crossover),
        ("zobel", filters.zobel),
        ("snubber", filters.snubber),
        ("impedance", filters.impedance),
        ("wire-drop", wires.wire_drop),
    ),
    "Safety tests": (
        ("earth-limit", safety_tests.earth_limit),
        ("earth-bond", safety_tests.earth_bond),
        ("touch-current", safety_tests.touch_current),
        ("weighted-touch-current", safety_tests.weighted_touch_current),
        ("y-capacitor-current", safety_tests.y_capacitor_current),
        ("insulation-resistance", safety_tests.insulation_resistance),
        ("static-guard", safety_tests.static_guard),
    ),
    "Measuring": (
        ("meter-accuracy", uncertainty.meter_accuracy),
        ("combined-uncertainty", uncertainty.combined_uncertainty),
        ("guarded-verdict", guard_bands.guarded_verdict),
        ("meter-loading", meter_effects.meter_loading),
        ("lead-resistance", meter_effects.lead_resistance),
    ),
    "Faults": (
        ("fault-rate", intermittent.fault_rate),
        ("clean-trials", intermittent.clean_trials),
        ("clean-run", intermittent.clean_run),
        ("before-after", intermittent.before_after),
        ("test-order", suspects.test_order),
    ),
    "Audio": (
        ("output-power", levels.output_power),
        ("volts-for", levels.volts_for),
        ("distortion-power", amplifier.distortion_power),
        ("gain", amplifier.gain),
        ("slew-rate", amplifier.slew_rate),
        ("damping", levels.damping),
        ("decibels", levels.decibels),
        ("level-units", amplifier.level_units),
        ("clipped-sine", distortion.clipped_sine),
        ("clip-level", distortion.clip_level),
        ("thd-of-shape", distortion.thd_of_shape),
        ("thd-by-total", distortion.thd_by_total),
        ("sidebands", distortion.sidebands),
        ("full-scale", response.full_scale),
    ),
    "Record and tape": (
        ("speed-error", flutter.speed_error),
        ("equalisation", equalisation.equalisation),
        ("equalisation-deviation", equalisation.equalisation_deviation),
        ("azimuth-angle", tape.azimuth_angle),
        ("head-losses", tape.head_losses),
        ("tape-level", tape.tape_level),
        ("tape-bias", tape.tape_bias),
    ),
    "The shop": (
        ("shelf-time", flow.shelf_time),
        ("lead-time", lead_times.lead_time),
        ("finish-chance", flow.finish_chance),
        ("cheapest-order", cheapest_order.cheapest_order),
    ),
}
_RECORDINGS: dict[str, Callable[..., Any]] = {
    "tone": tone.tone,
    "stepped-level": stepped.stepped,
    "noise": noise.noise,
    "separation": separation.separation,
    "frequency-response": response.response,
    "flutter": flutter.flutter,
    "intermodulation": intermodulation.intermodulation,
    "equalisation-response": equalisation.equalisation_response,
    "azimuth": tape.azimuth,
}


def _judged(part_class: str, **given: Any) -> Substitution:
    specs: dict[str, dict[str, Any]] = {"needed": {}, "offered": {}}
    for name, value in given.items():
        side, _, parameter = name.partition("_")
        specs[side][parameter] = value
    return substitute(part_class, specs["needed"], specs["offered"])


def _substitution(part: PartClass) -> Calculation:
    """Return the substitution of one class, its parameters once as needed and once as offered."""

    inputs = tuple(
        Input(name=f"{side}_{p.name}", kind="word" if p.words else "number", words=p.words)
        for p in part.parameters
        for side in ("needed", "offered")
    )
    words = (
        ("about", f"Return whether one {part.title.lower()} may stand in for another."),
        ("Formula", "Each value: equal, reach, stay under, within a band, or a ladder of kinds."),
        ("Caution", part.caution),
        ("Source", part.source + "."),
    )
    name = f"substitute-{part.name}"
    return Calculation(
        name=name,
        group="Substitution",
        function=partial(_judged, part.name),
        own_inputs=inputs,
        own_words=words,
        own_title=Words(
            f"{part.title} in place of another",
            "Whether one can stand in, value by value.",
            ("verdict",),
        ),
    )


def _all() -> dict[str, Calculation]:
    plain = [
        Calculation(name=name, group=group, function=function)
        for group, entries in _BY_GROUP.items()
        for name, function in entries
    ]
    from_files = [
        Calculation(name=name, group="Recordings", function=function, shell_only=True)
        for name, function in _RECORDINGS.items()
    ]
    swaps = [_substitution(part) for part in PART_CLASSES.values()]
    return {entry.name: entry for entry in (*plain, *swaps, *from_files)}


CALCULATIONS: dict[str, Calculation] = _all()


def run(name: str, arguments: Mapping[str, Any]) -> dict[str, Any]:
    """Return the result as a dict; KeyError for an unknown name, ValueError with a sentence."""
    return CALCULATIONS[name].run(arguments)


def plan_result(name: str, arguments: Mapping[str, Any]) -> tuple[dict[str, Any] | None, str]:
    """Return (result, "") for a step's plan, or (None, sentence) when it cannot be worked out."""
    try:
        return run(name, arguments), ""
    except Doubtful as error:
        return None, f"{error} No plan until the facts are right."
    except ValueError as error:
        return None, str(error)
