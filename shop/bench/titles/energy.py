"""Stored energy and first power."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "discharge": Words(
        "Discharge a reservoir",
        "Resistor, how long to hold it on, and what is left.",
        ("seconds=Hold the resistor on for", "ohms=Resistor"),
        "capacitor bleed drain stored charge",
    ),
    "bleeder": Words(
        "Bleeder resistor",
        "The largest permanent resistor that empties a capacitor in time.",
        ("preferred_ohms=Bleeder", "continuous_watts"),
        "discharge reservoir",
    ),
    "stored-energy": Words(
        "Energy in a capacitor",
        "Energy and charge, and whether they can hurt.",
        ("energy_j",),
        "joules shock burn",
    ),
    "energy-class": Words(
        "Energy class of a voltage",
        "ES1, ES2 or ES3 of a steady source, by r.m.s. and peak.",
        ("energy_class",),
        "touch safe hazardous",
    ),
    "capacitor-class": Words(
        "Energy class of a charged capacitor",
        "ES1, ES2 or ES3 by voltage and capacitance (IEC 62368-1).",
        ("energy_class", "es1_volts"),
        "touch safe hazardous x y stored",
    ),
    "mains-peak": Words(
        "Bus voltage from the mains",
        "The voltage behind a rectifier, and behind a doubler.",
        ("bus_volts",),
        "rectifier doubler primary smps",
    ),
    "wrong-mains": Words(
        "Wrong mains voltage",
        "How much more voltage and power a linear load sees.",
        ("power_ratio", "voltage_ratio"),
        "selector 115 230",
    ),
    "lamp-limiter": Words(
        "Series lamp limiter",
        "The lamp for a first power-up, and what a healthy unit is left with.",
        ("lamp_watts=Lamp", "ceiling_amps"),
        "bulb dim first power",
    ),
    "supply-limiter": Words(
        "Bench supply current limit",
        "The limit for feeding a rail, and how long charging takes.",
        ("limit_milliamps",),
        "first power rail",
    ),
    "fuse-times": Words(
        "Fuse opening time",
        "The earliest and the latest opening (IEC 60127-2, UL 248-14).",
        ("latest_seconds", "earliest_seconds"),
        "blow melt",
    ),
    "fuse-plausible": Words(
        "Is this the right mains fuse?",
        "Whether a primary fuse fits the power on the rating plate.",
        ("verdict",),
        "primary rating",
    ),
    "fuse-rating": Words(
        "May this fuse break this circuit?",
        "By its volts, a.c. or d.c., and its breaking capacity.",
        ("verdict", "prospective_amps"),
        "interrupting short prospective",
    ),
    "pulse-duty": Words(
        "Fuse and pulses (I2t)",
        "The I2t of a pulse, and what the fuse must have to stand it so often.",
        (
            "needed_ampere_squared_seconds=Melting I2t needed",
            "pulse_ampere_squared_seconds=I2t of the pulse",
        ),
        "inrush surge melting",
    ),
    "inrush": Words(
        "Inrush into a reservoir",
        "Peak current and I2t when the switch closes at the mains peak.",
        ("peak_amps", "inrush_ampere_squared_seconds=I2t"),
        "ntc surge fuse smps",
    ),
}
