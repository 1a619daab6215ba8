"""Facts as people type them into a form or a spreadsheet cell."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from checklists.engine.vocabulary import VOCABULARY, Fact
from shop.lib import typed_numbers
from shop.lib.refusals import BadInput
from shop.preferences import current as preferences

TYPED = tuple(fact for fact in VOCABULARY.values() if not fact.computed)

_LONGEST_WHOLE = 9
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}
_LABELS = {
    "unit.kind": "Kind of unit",
    "unit.year": "Year built",
    "unit.rail_volts": "Highest rail",
    "unit.rail_total_volts": "Between plus and minus rail",
    "unit.reservoir_uf": "Reservoir capacitance on it",
    "unit.rated_watts": "Rated power",
    "unit.rated_load_ohms": "Rated load",
    "unit.idle_watts": "Drawn from the mains at idle",
    "unit.fuse_amps": "Mains fuse by the plate",
    "unit.has_laser": "Laser inside",
    "unit.has_lithium_cell": "Lithium cell inside",
    "unit.insulated_devices": "Power devices on insulators",
    "unit.live_sinks": "Heat sinks at a potential by design",
    "unit.has_valves": "Valves inside",
    "unit.valve_bias": "Bias of the output valves",
    "unit.plate_watts": "Rated plate dissipation of one output valve",
    "unit.lead_metres": "Length of the mains lead",
    "unit.lead_mm2": "Cross-section of its conductors",
    "unit.moving_parts": "Moving parts",
    "unit.mains_selector": "Mains selector",
    "unit.output_relay": "Output relay",
    "unit.bridged_outputs": "Bridged outputs",
    "unit.standby_supply": "Standby supply always on",
    "unit.pfc_bus": "Power factor correction",
    "unit.captive_lead": "Captive mains lead",
    "unit.fan_cooled": "Fan",
    "unit.phantom_power": "Phantom supply",
    "unit.emitter_ohms": "Emitter resistor",
    "unit.bias_millivolts": "Bias across it, by the service sheet",
    "unit.offset_limit_millivolts": "Offset allowed by the service sheet",
    "complaint.when": "When it happens",
    "complaint.intermittent": "Comes and goes",
    "complaint.symptoms": "Symptoms",
    "intake.damage": "Damage at intake",
}


def label(fact: Fact) -> str:
    """Return what a form calls the fact, with its unit."""
    words = _LABELS.get(fact.name) or fact.name.split(".")[-1].replace("_", " ").capitalize()
    return f"{words} ({fact.unit})" if fact.unit else words


def from_text(cells: Mapping[str, str]) -> dict[str, Any]:
    """Turn typed cells into values; what makes no sense stays text for the vocabulary to name."""
    return {name: value_from_text(name, cell) for name, cell in cells.items() if cell.strip()}


def value_from_text(name: str, cell: str) -> Any:
    """Turn one typed cell into the type that the fact wants, or leave it as text.

    "yes" and "no" are flags, words of a list are parted by blanks or commas, numbers are read by
    the shop's parser: BadInput where one reads two ways or is of another unit.
    """
    fact = VOCABULARY.get(name)
    typed = cell.strip()
    if fact is None or fact.kind == "string":
        return typed
    if fact.kind == "list":
        return [word for word in typed.replace(",", " ").split() if word]
    if fact.kind == "bool":
        return _FLAGS.get(typed.lower(), typed)
    return _number(fact, typed)


def _number(fact: Fact, typed: str) -> Any:
    # Whole numbers are years and counts: nobody groups them.
    if fact.kind == "int":
        return int(typed) if typed.isdecimal() and len(typed) <= _LONGEST_WHOLE else typed
    try:
        return typed_numbers.number(
            typed, unit=fact.unit, decimal=preferences.value("decimal_sign")
        )
    except typed_numbers.TypedWrong as wrong:
        raise BadInput([(fact.name, f"{label(fact)}: {wrong}")]) from None
