"""When a job will be finished, as a range drawn from what earlier jobs took.

An earlier job that was in the same stage for at least as long says how much longer it took from
there to the end. The draws of that are the forecast: no shape of curve is assumed. Parts on
order and a bench fuller than usual change the draws. Days throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shop.bench.inputs import within
from shop.bench.statistics.flow import FEWEST

Draws = NDArray[np.float64]
DRAWS = 10_000
# How far a bench may be fuller or emptier than usual before it is no longer believed: our choice.
LEAST_LOAD, MOST_LOAD = 0.5, 2.0


@dataclass(frozen=True, slots=True)
class Stay:
    """An earlier job's stay in a stage: its days there, and days from entering it to the end."""

    days: float
    to_end: float


@dataclass(frozen=True, slots=True)
class Range:
    """Days from now: half of the draws lie in `half`, 85 % in `most`; `likely` is the densest day."""

    likely: float
    half: tuple[float, float]
    most: tuple[float, float]
    stays: int


def remaining(stays: Sequence[Stay], age: float, *, seed: int, draws: int = DRAWS) -> Draws | None:
    """Return draws of the days left for a job that has been in its stage for `age` days.

    None when fewer than eight earlier stays lasted as long: history is too thin to say. Drawn
    with a stated seed; few stays make the draws go beyond the record (`_spread`).
    """
    within("age", age, 0, 1e5, "days")
    left = np.array([stay.to_end - age for stay in stays if stay.days > age])
    if len(left) < FEWEST:
        return None
    return _spread(left, np.random.default_rng(seed), draws)


def _spread(record: Draws, draw: np.random.Generator, draws: int) -> Draws:
    """Return draws of what comes next after a record of n values above nothing, at least eight.

    A next value falls into each of the n + 1 gaps alike: with n of eight the range from least to
    largest holds 7 of 9, and no range within it can hold 85 %. So one draw in n + 1 lies beyond
    either end: there the logarithm goes on by an exponential of the mean distance that the outer
    half of the record has from its middle. From thirteen on the 85 % range is within the record.
    """
    ordered = np.log(np.maximum(np.sort(record), 1e-6))
    count = len(ordered)
    places = draw.uniform(0, count + 1, size=draws)
    drawn = np.interp(places, np.arange(1, count + 1), ordered)
    half = count // 2
    beyond = draw.exponential(size=draws)
    above, below = places > count, places < 1
    drawn[above] += (ordered[-half:] - ordered[-half - 1]).mean() * beyond[above]
    drawn[below] -= (ordered[half] - ordered[:half]).mean() * beyond[below]
    spread: Draws = np.exp(drawn)
    return spread


def after_delivery(
    delivery: Sequence[float],
    waited: float,
    rest: Sequence[float],
    *,
    seed: int,
    draws: int = DRAWS,
) -> Draws | None:
    """Return draws of the days left for a job that waits for a parcel `waited` days old.

    delivery: days that this supplier's parcels took; rest: days from the arrival of the parts
    to the end, of earlier jobs. None when either is too thin.
    """
    coming = [days - waited for days in delivery if days > waited]
    if len(coming) < FEWEST or len(rest) < FEWEST:
        return None
    draw = np.random.default_rng(seed)
    return _spread(np.array(coming), draw, draws) + _spread(np.array(rest), draw, draws)


def under_load(draws: Draws, load: float, share: float) -> Draws:
    """Return the draws stretched where hands are the wait.

    load: units per pair of hands now against the usual, held within 0.5 to 2; share: the part
    of a stay that waits on hands, 0..1. By Little's law a fuller bench keeps units in
    proportion longer.
    """
    within("share", share, 0, 1, "")
    held = min(max(load, LEAST_LOAD), MOST_LOAD)
    stretched: Draws = draws * (1 + share * (held - 1))
    return stretched


def range_of(draws: Draws, stays: int) -> Range:
    """Return the central ranges of the draws and their densest day."""
    low85, low50, high50, high85 = (float(d) for d in np.percentile(draws, [7.5, 25, 75, 92.5]))
    likely = min(max(_densest(draws), low85), high85)
    return Range(likely, (low50, high50), (low85, high85), stays)


def _densest(draws: Draws) -> float:
    """Return the middle of the shortest stretch that holds a quarter of the draws."""
    ordered = np.sort(draws)
    width = max(1, len(ordered) // 4)
    spans = ordered[width:] - ordered[:-width]
    start = int(np.argmin(spans)) if len(spans) else 0
    return float((ordered[start] + ordered[min(start + width, len(ordered) - 1)]) / 2)
