"""Safety tests."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "earth-limit": Words(
        "Earth resistance limit",
        "The most a protective earth may have, for the mains lead.",
        ("limit_ohms=At most",),
        "protective conductor pe cord",
    ),
    "earth-bond": Words(
        "Earth bond test",
        "The drop at the test current, and whether it passes.",
        ("verdict", "drop_volts"),
        "protective conductor pe",
    ),
    "touch-current": Words(
        "Touch current",
        "From the voltage across 1500 ohm and 0.15 uF.",
        ("milliamps=Touch current",),
        "leakage enclosure",
    ),
    "weighted-touch-current": Words(
        "Weighted touch current",
        "From the output voltage U2 of the measuring network.",
        ("milliamps=Weighted touch current", "verdict"),
        "leakage IEC 60990",
    ),
    "y-capacitor-current": Words(
        "Leakage through Y capacitors",
        "The current that the Y capacitance lets through.",
        ("milliamps=Leakage current",),
        "touch leakage",
    ),
    "insulation-resistance": Words(
        "Insulation test",
        "Whether a reading passes for class and practice.",
        ("verdict", "limit_megohms"),
        "megger megohm",
    ),
    "static-guard": Words(
        "Wrist strap and bench mat",
        "Whether the static protection is good, and safe.",
        ("strap_verdict", "mat_verdict"),
        "esd antistatic",
    ),
}
