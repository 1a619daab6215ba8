"""Faults, and the shop."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "fault-rate": Words(
        "How often the fault shows",
        "The rate with its exact 95 % range (Clopper-Pearson).",
        ("rate",),
        "intermittent trials",
    ),
    "clean-trials": Words(
        "Clean trials needed",
        "How many tries without the fault prove the repair.",
        ("needed",),
        "intermittent",
    ),
    "clean-run": Words(
        "What a clean run proves",
        "The reliability shown, and the chance that the fault only hid.",
        ("reliability", "missed"),
        "intermittent trials",
    ),
    "before-after": Words(
        "Did the repair change it?",
        "Trials before against trials after (Fisher's exact test).",
        ("verdict", "p_value"),
        "intermittent",
    ),
    "test-order": Words(
        "Best order of tests",
        "The order that finds a single fault soonest on average.",
        ("order=Test in this order", "expected_minutes"),
        "suspects causes",
    ),
    "shelf-time": Words(
        "How long units stay",
        "From the units inside and the rate of finishing (Little's law).",
        ("stay_days",),
        "flow waiting",
    ),
    "lead-time": Words(
        "Delivery times to reckon with",
        "From the middle one and the slowest of ten.",
        ("p85_days", "median_days"),
        "supplier parcel",
    ),
    "finish-chance": Words(
        "Chance to finish in time",
        "So many units in so many weeks, by past weeks.",
        ("chance_percent",),
        "forecast",
    ),
    "cheapest-order": Words(
        "Cheapest split of an order",
        "Which supplier gets which line, postage included.",
        ("total", "saving"),
        "basket parts",
    ),
}
