"""What is marked on parts, and two checks of electrolytics."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "esr-limit": Words(
        "ESR limit of an electrolytic",
        "The most it may be by tan delta, and whether a reading passes.",
        ("limit_ohms=At most", "verdict"),
        "capacitor loss series resistance dissipation factor",
    ),
    "series-balance": Words(
        "Balance capacitors in series",
        "The resistor across each, and what each then sees.",
        ("preferred_ohms=Resistor across each", "verdict"),
        "electrolytic voltage sharing",
    ),
    "colour-code": Words(
        "Colour bands",
        "Value, tolerance and coefficient of a resistor.",
        ("ohms=Value", "tolerance_percent=Tolerance"),
        "resistor color rings IEC 60062",
    ),
    "resistor-code": Words(
        "Code on a resistor",
        "Letters and digits: 4k7, 103, 68C.",
        ("ohms=Value", "tolerance_percent=Tolerance"),
        "smd chip marking IEC 60062",
    ),
    "capacitor-code": Words(
        "Code on a capacitor",
        "Letters and digits: 104K, 4n7, u22.",
        ("nanofarads=Value", "microfarads=In microfarads"),
        "film ceramic marking IEC 60062",
    ),
    "date-code": Words(
        "Date code of a part",
        "When it may have been made.",
        ("made_in=May be of",),
        "age year week marking IEC 60062",
    ),
    "wire-gauge": Words(
        "Wire gauge",
        "Diameter, area and resistance, by AWG, SWG or caliper.",
        ("diameter_millimetres=Diameter", "square_millimetres=Area"),
        "awg swg copper",
    ),
}
