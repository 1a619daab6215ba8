"""Parts."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "preferred-value": Words(
        "Nearest preferred value",
        "The E series values about a wanted one, and their tolerance band.",
        ("nearest=Nearest value",),
        "E12 E24 E96 resistor",
    ),
    "electrolytic-life": Words(
        "Electrolytic life",
        "Hours and years left by the 10 K rule.",
        ("years_in_use", "left_years"),
        "capacitor age",
    ),
    "mixed-duty": Words(
        "Electrolytic life at several temperatures",
        "Hours by the 10 K rule for a day of mixed temperatures.",
        ("hours=Life",),
        "capacitor",
    ),
    "reforming": Words(
        "Re-form an electrolytic",
        "Steps, series resistor and leakage limit, out of circuit.",
        ("series_ohms", "steps"),
        "capacitor old stock",
    ),
    "electrolytic-condition": Words(
        "Renew this electrolytic?",
        "What capacitance, series resistance and the eye say.",
        ("verdict",),
        "capacitor esr",
    ),
    "impulse-level": Words(
        "Impulse test of an X or Y capacitor",
        "The test voltage of its class.",
        ("impulse_volts",),
        "suppression",
    ),
    "contact-resistance": Words(
        "Contact resistance",
        "Of relay or switch contacts, by the voltage drop across them.",
        ("milliohms=Contacts", "verdict"),
        "relay switch",
    ),
    "contact-rating": Words(
        "Contact on a.c. or d.c.",
        "What a relay or switch breaks of a load, most of all of d.c.",
        ("verdict", "breaks_amps=Breaks"),
        "relay switch arc loudspeaker protection",
    ),
    "relay-coil": Words(
        "Relay pull-in and release",
        "Whether it pulls in early enough and lets go.",
        ("verdict", "pull_in_percent"),
        "coil",
    ),
}
