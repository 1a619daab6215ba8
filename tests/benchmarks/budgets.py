"""Budgets: one line each, a figure against its limit.

`BUDGET name value limit ok|over|excused [reason]`. Ratios are of CPU time in alternating runs, so
that a busy machine makes both sides slow alike.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable


def told(
    name: str, value: float, limit: float, *, at_least: bool = False, excused: str = ""
) -> bool:
    """Print a budget's line and return whether it is kept; `excused` says why it may be over."""
    kept = value >= limit if at_least else value <= limit
    word = "ok" if kept else "excused" if excused else "over"
    reason = f" {excused}" if word == "excused" else ""
    print(f"BUDGET {name} {value:.3g} {limit:g} {word}{reason}", flush=True)
    return word != "over"


def medians(times: int, *acts: Callable[[int], object]) -> list[float]:
    """Return the median CPU time of each act in ms, one after the other in each round."""
    taken: list[list[float]] = [[] for _ in acts]
    for place in range(times):
        for act, list_of in zip(acts, taken, strict=True):
            start = time.process_time()
            act(place)
            list_of.append((time.process_time() - start) * 1e3)
    return [statistics.median(one) for one in taken]
