"""How long a delivery takes: a skewed time from its middle and its slow end."""

from __future__ import annotations

import math
from dataclasses import dataclass

import scipy

from shop.bench.inputs import within

_Z90 = 1.2815515655446004


@dataclass(frozen=True, slots=True)
class Lognormal:
    """A skewed time: mu and sigma of its logarithm."""

    mu: float
    sigma: float

    @property
    def median(self) -> float:
        """Half take less."""
        return math.exp(self.mu)

    @property
    def mean(self) -> float:
        """The average."""
        return math.exp(self.mu + self.sigma**2 / 2)

    def percentile(self, percent: float) -> float:
        """Return the time that so many percent stay below."""
        within("percent", percent, 0.001, 99.999, "%")
        return math.exp(self.mu + self.sigma * float(scipy.special.ndtri(percent / 100)))


def lognormal_from_median(median_days: float, p90_days: float) -> Lognormal:
    """Return the lognormal with this median and 90th percentile (W12.5). Both in days."""
    within("median_days", median_days, 1e-6, 1e5, "days")
    within("p90_days", p90_days, median_days, 1e6, "days")
    return Lognormal(math.log(median_days), math.log(p90_days / median_days) / _Z90)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadTime:
    """A skewed delivery time."""

    median_days: float
    mean_days: float
    p85_days: float
    p95_days: float
    sigma: float


def lead_time(middle_days: float, slow_days: float) -> LeadTime:
    """Return the delivery times to reckon with, from the middle one and the slowest of ten.

    middle_days (half come sooner) above 0; slow_days (nine of ten come sooner) at least that.
    Formula: lognormal, sigma = ln(p90/p50) / 1.28155.
    Caution: NOTICE. Percentiles do not add: two parcels are not late by the sum of both.
    Source: lognormal distribution (W12.5).
    """
    delivery = lognormal_from_median(middle_days, slow_days)
    return LeadTime(
        median_days=delivery.median,
        mean_days=delivery.mean,
        p85_days=delivery.percentile(85),
        p95_days=delivery.percentile(95),
        sigma=delivery.sigma,
    )
