"""Resistors, filters and leads."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "series-resistor": Words(
        "Series resistor for a lamp or LED",
        "What a part needs that is fed from a higher voltage.",
        ("preferred_ohms=Resistor", "watts=It burns"),
        "dropper led relay coil diode",
    ),
    "divider": Words(
        "Voltage divider",
        "Its output, with and without a load.",
        ("output_volts", "source_ohms"),
        "potential resistor probe",
    ),
    "pad": Words(
        "Pad",
        "Resistors for less level at the same impedance, a loudspeaker's too.",
        ("series_ohms=In series", "shunt_ohms=Across"),
        "attenuator l-pad t pi decibel tweeter",
    ),
    "corner": Words(
        "Corner and resonance",
        "Frequency, resistance, capacitance, inductance: two of them give the rest.",
        ("hertz=Frequency", "ohms=Resistance or reactance"),
        "rc lc rl filter cutoff reactance coupling",
    ),
    "crossover": Words(
        "Passive crossover",
        "Coils and capacitors of a two-way crossover.",
        ("low_millihenries", "high_microfarads"),
        "loudspeaker butterworth linkwitz riley tweeter woofer",
    ),
    "zobel": Words(
        "Zobel of a driver",
        "Resistor and capacitor that level the rise of a voice coil.",
        ("microfarads=Capacitor", "practical_ohms=Resistor"),
        "loudspeaker impedance",
    ),
    "snubber": Words(
        "Snubber",
        "Resistor and capacitor against ringing, from two frequencies.",
        ("ohms=Resistor", "picofarads=Capacitor"),
        "ringing smps rectifier switch",
    ),
    "impedance": Words(
        "Impedance from two readings",
        "Of a loudspeaker or an input, and whether its rating is right.",
        ("impedance_ohms", "verdict"),
        "loudspeaker ohm input resistance IEC 60268-5",
    ),
    "wire-drop": Words(
        "Loss in a lead",
        "Voltage, power and damping that a two-core lead takes.",
        ("drop_volts=Drop", "lead_ohms=Lead, there and back"),
        "cable loudspeaker mains cross-section IEC 60228",
    ),
}
