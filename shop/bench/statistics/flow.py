"""How long work takes and when it will be done: Little's law, ageing, finish ranges.

Times are in days unless a name says otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shop.bench.inputs import series, whole, within

Days = NDArray[np.float64]

FEWEST = 8  # finished stays on record below which no range is given: common practice


@dataclass(frozen=True, slots=True)
class Little:
    """Work inside, arrivals per day and days inside over one window; `expected` is rate x days.

    Inside is averaged over time; the rate counts arrivals in the window; days inside are those
    of stays that ended in it.
    """

    inside: float
    per_day: float
    days_inside: float

    @property
    def expected(self) -> float:
        """What Little's law makes of rate and stay."""
        return self.per_day * self.days_inside

    @property
    def ratio(self) -> float:
        """Work inside against what is expected; near 1 when the shop is steady."""
        return self.inside / self.expected if self.expected else math.nan


@dataclass(frozen=True, slots=True)
class ShelfTime:
    """Little's law both ways."""

    inside: float
    stay_days: float


def shelf_time(inside: float, finished_per_day: float) -> ShelfTime:
    """Return how long what is inside takes at the rate at which work is finished.

    inside 0..1e9 units, finished_per_day 1e-9..1e9 a day.
    Formula: W = L / lambda.
    Caution: NOTICE. It holds for long averages of a steady shop, not for the next parcel.
    Source: J. D. C. Little and S. C. Graves, "Building Intuition", chapter 5 (W12.1 to W12.4).
    """
    within("inside", inside, 0, 1e9, "units")
    rate = within("finished_per_day", finished_per_day, 1e-9, 1e9, "per day")
    return ShelfTime(inside, inside / rate)


def chance_of_finishing(
    weekly: Sequence[float], wanted: int, weeks: int, *, draws: int = 100_000, seed: int = 1
) -> float:
    """Return the chance that so many are finished in so many weeks, resampling past weeks (W12.7)."""
    if not weekly:
        raise ValueError("No finished week is on record.")
    whole("wanted", wanted, 0, 100_000)
    whole("weeks", weeks, 1, 520)
    draw = np.random.default_rng(seed)
    sums = draw.choice(np.asarray(weekly), size=(draws, weeks)).sum(axis=1)
    return float((sums >= wanted - 1e-9).mean())


@dataclass(frozen=True, slots=True)
class FinishChance:
    """The chance of finishing so many in time."""

    chance_percent: float
    weeks: int


def finish_chance(finished_each_week: Sequence[float], wanted: float, weeks: float) -> FinishChance:
    """Return the chance that so many units are finished in so many weeks, from past weeks.

    finished_each_week 0..10,000 a week, at least one week; wanted 0..100,000; weeks 1..104.
    Formula: past weeks drawn again and again, summed, counted.
    Caution: NOTICE. Past weeks foretell only while the shop and its mix stay as they were.
    Source: resampling; enumeration of W12.7.
    """
    # An average of several weeks, such as 2.9, is taken as it is.
    past = series("finished_each_week", finished_each_week, low=0, high=10_000, unit="units")
    span = whole("weeks", weeks, 1, 104)
    chance = chance_of_finishing(past, whole("wanted", wanted, 0, 100_000), span)
    return FinishChance(chance * 100, span)


def percentiles(days: Sequence[float], percents: Sequence[float] = (50, 85, 95)) -> list[float]:
    """Return percentiles of finished stays, linear between them; ValueError when there is none."""
    if not len(days):
        raise ValueError("No finished stay is on record.")
    return [float(p) for p in np.percentile(np.asarray(days, dtype=float), list(percents))]
