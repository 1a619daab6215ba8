"""Bias and heat."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "emitter-bias": Words(
        "Idle current from emitter voltage",
        "The idle current through a known emitter resistor.",
        ("milliamps=Idle current",),
        "quiescent bias output stage",
    ),
    "bias-target": Words(
        "Idle current to set",
        "The reading to set, by the service data or 26 mV without it.",
        ("reading_millivolts", "milliamps=Idle current"),
        "quiescent bias adjust",
    ),
    "valve-idle": Words(
        "Valve idle current",
        "Plate current for a share of the rated dissipation.",
        ("milliamps=Plate current",),
        "tube bias",
    ),
    "plate-dissipation": Words(
        "Plate dissipation",
        "Dissipation from the cathode current, as a share of the rating.",
        ("share_percent=Of the rating", "plate_watts"),
        "tube valve bias",
    ),
    "class-a-idle": Words(
        "Class A idle power",
        "Load current, and the power burnt at idle.",
        ("idle_watts", "peak_amps"),
    ),
    "class-b-dissipation": Words(
        "Class AB dissipation",
        "Heat in one output pair driven by a sine, and the worst of it.",
        ("pair_watts", "worst_pair_watts"),
        "class B heat output stage",
    ),
    "junction-temperature": Words(
        "Junction temperature",
        "Junction, case and sink in the steady state.",
        ("junction_celsius",),
        "heat transistor sink",
    ),
    "required-sink": Words(
        "Heat sink needed",
        "The thermal resistance that keeps a device below its limit.",
        ("sink_kelvin_per_watt",),
        "cooling",
    ),
    "interface-swap": Words(
        "Change of insulator or compound",
        "How much hotter or cooler the case will run.",
        ("likely_kelvin",),
        "mica pad thermal paste",
    ),
    "warm-up": Words(
        "Heat sink warm-up",
        "The temperature after a time, and where it ends.",
        ("celsius=After that time", "final_celsius=In the end"),
    ),
    "heating-curve": Words(
        "Final temperature from readings",
        "Where the readings settle, how sure, and whether below the limit.",
        ("final_celsius",),
        "soak heat sink curve fit",
    ),
    "three-readings": Words(
        "Final temperature from three readings",
        "A quick answer without a margin, from equal steps.",
        ("final_celsius",),
        "soak heat",
    ),
    "soak-plan": Words(
        "Soak reading times",
        "When to read: start, 10 and 30 minutes, then each interval.",
        ("reading_minutes=Read after",),
    ),
}
