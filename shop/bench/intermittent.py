"""How many clean trials show that an intermittent fault is gone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from scipy.special import betaincinv

from shop.bench.inputs import whole, within

UNSEEN = 29  # clean trials when the fault was never counted: 90 % at 95 % confidence (W11.5)


@dataclass(frozen=True, slots=True)
class CleanTrials:
    """Clean trials needed, and the failure rate they were worked out from."""

    needed: int
    rate: float
    rate_low: float


def trials_needed(rate: float, confidence: float = 0.95) -> int:
    """Return n = ceil(ln(1-C) / ln(1-p)): trials without failure that show p or less.

    rate 1e-6..1 (failures per trial if not cured), confidence 0.5..0.9999.
    Source: zero-failure sample size, a reliability library's documentation (W11.4 to W11.7).
    """
    within("rate", rate, 1e-6, 1, "failures per trial")
    within("confidence", confidence, 0.5, 0.9999, "")
    if rate >= confidence:
        return 1
    # Rounding must not turn an exact 5.0000000001 into 6.
    return max(1, math.ceil(math.log(1 - confidence) / math.log(1 - rate) - 1e-9))


@lru_cache(maxsize=1024)
def clean_trials(faults: float, trials: float, confidence: float = 0.95) -> CleanTrials:
    """Return the clean trials to ask for after `faults` failures in `trials` tries before the work.

    It plans from the pessimistic bound: the one-sided lower limit (Clopper-Pearson) of the
    failure rate at the same confidence. Without a fault on record it asks for 29.
    ValueError with a sentence when the numbers cannot be.
    Source: NIST/SEMATECH handbook 7.2.4 for the interval; W11.3, W11.4.
    """
    tries = whole("trials", trials, 0, 100_000)
    seen = whole("faults", faults, 0, 100_000)
    if seen > tries:
        raise ValueError(f"faults is {seen}; it must be at most trials, which is {tries}.")
    if seen == 0:
        return CleanTrials(UNSEEN, 0.0, 0.0)
    low = float(betaincinv(seen, tries - seen + 1, 1 - confidence))
    return CleanTrials(trials_needed(low, confidence), seen / tries, low)
