"""Measuring: what a meter may be off by."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "meter-accuracy": Words(
        "Accuracy of a meter",
        "How far a reading may be off, by the data sheet.",
        ("give_or_take=Give or take", "expanded_uncertainty=Uncertainty (95 %)"),
        "digits counts multimeter error tolerance",
    ),
    "combined-uncertainty": Words(
        "Uncertainties together",
        "Several uncertainties as one, with its coverage factor.",
        ("expanded_uncertainty=Expanded uncertainty", "coverage_factor=Coverage factor k"),
        "GUM error budget degrees of freedom student",
    ),
    "guarded-verdict": Words(
        "Verdict near a limit",
        "Pass, fail, or too close to tell with this meter.",
        ("verdict", "conformance_percent=Chance that it is within"),
        "guard band uncertainty tolerance decision rule",
    ),
    "meter-loading": Words(
        "Meter loading",
        "The voltage without the meter across it.",
        ("true_volts=Without the meter", "off_percent=The meter is off by"),
        "input resistance ohms per volt grid bias",
    ),
    "lead-resistance": Words(
        "Resistance without the leads",
        "A low resistance, its leads taken off, and whether two wires do.",
        ("corrected_ohms=Resistance", "says"),
        "test leads null four wire kelvin",
    ),
}
