"""Helpers that need no database and no Django."""

from __future__ import annotations

import os
from typing import Any

# How many examples a property is tried on. 100 is the measure by which tests ask for their share;
# a run in between takes fewer, `make long` many more.
EXAMPLES = int(os.environ.get("BENCHTAG_EXAMPLES", "40"))


def examples(usual: int) -> int:
    """As many examples as is usual for a test, and in proportion more in a long run."""
    return max(1, usual * EXAMPLES // 100)


def flat(text: str) -> str:
    """A page or paper as one line, however its template is broken into lines."""
    return " ".join(text.split())


def amplifier(**changes: Any) -> dict[str, Any]:
    """Facts of a class AB amplifier; keys with a dot come as `unit__year=1999`, None takes away."""
    facts: dict[str, Any] = {
        "unit.kind": "integrated-amplifier",
        "unit.supply": "linear",
        "unit.output_stage": "class-ab",
        "unit.protective_class": "I",
        "unit.mains_volts": 230.0,
        "unit.year": 2012,
        "unit.rail_volts": 75.0,
        "unit.reservoir_uf": 10000.0,
        "unit.rated_watts": 100.0,
        "unit.bias_adjustable": True,
        "unit.offset_adjustable": False,
        "unit.output_relay": False,
        "unit.has_laser": False,
        "unit.has_lithium_cell": False,
        "unit.moving_parts": False,
        "complaint.symptoms": ["one-channel"],
        "complaint.intermittent": False,
        "complaint.when": ["always"],
        "intake.damage": ["none"],
    }
    for name, value in changes.items():
        key = name.replace("__", ".")
        if value is None:
            facts.pop(key, None)
        else:
            facts[key] = value
    return facts
