"""What outlets and the shop say to each other, as docs/outlets.md describes it.

An outlet sends a *tick*, a new random number, four times a second. Leave to stay closed is given
by an answer to one of its own ticks and ends HOLD_SECONDS after it sent that tick, by its own
clock. So an enable that was delayed, kept or copied is worth nothing, and no clocks are compared.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from typing import Any

TICK_SECONDS = 0.25
HOLD_SECONDS = 1.5
# Longer than this after it was heard, a tick is not answered any more.
ANSWER_SECONDS = 0.75
LARGEST_TICK = 2**32 - 1
_LARGEST_FIGURE = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What an outlet reports; None is not told."""

    tick: int | None = None
    watts: float | None = None
    volts: float | None = None
    amps: float | None = None
    enabled: bool | None = None
    closed: bool | None = None


def read_state(payload: bytes) -> State | None:
    """Return the state of a message; None for what is no JSON object. What is odd in it is not told."""
    try:
        said = json.loads(payload)
    except (ValueError, RecursionError):
        return None
    if not isinstance(said, dict):
        return None
    return State(
        tick=_tick(said.get("tick")),
        watts=figure(said.get("watts")),
        volts=figure(said.get("volts")),
        amps=figure(said.get("amps")),
        enabled=_yes_or_no(said.get("enabled")),
        closed=_yes_or_no(said.get("closed")),
    )


def answer(tick: int, *, enable: bool, holder: str) -> bytes:
    """Return the answer to a tick."""
    return json.dumps({"enable": enable, "tick": tick, "holder": holder}).encode()


def figure(value: Any) -> float | None:
    """Return a measured figure; None for what no meter of a bench outlet can read."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    sound = math.isfinite(value) and abs(value) <= _LARGEST_FIGURE
    return float(value) if sound else None


def _tick(value: Any) -> int | None:
    whole = isinstance(value, int) and not isinstance(value, bool)
    return value if whole and 0 <= value <= LARGEST_TICK else None


def _yes_or_no(value: Any) -> bool | None:
    return value if isinstance(value, bool) else None
