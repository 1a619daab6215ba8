"""A reading against a limit, with what the meter may be off by counted against it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.inputs import within

PASS, FAIL, TOO_CLOSE = "pass", "fail", "too-close"
# Below it a difference is that of the processor's digits.
_ROUNDED = 1e-9
_MOST = 1e12


def settled(
    least: float, most: float, lowest: float | None = None, highest: float | None = None
) -> str:
    """Return pass, fail or too-close for a value that lies somewhere from least to most.

    lowest, highest: the limits, None where there is none; all in one unit. What lies on a limit is
    within it. Pass: all of it is within. Fail: none of it is.
    """
    over = 0.0 if highest is None else abs(highest) * _ROUNDED
    under = 0.0 if lowest is None else abs(lowest) * _ROUNDED
    above, below = math.inf if highest is None else highest, -math.inf if lowest is None else lowest
    if below - under <= least and most <= above + over:
        return PASS
    return FAIL if least > above + over or most < below - under else TOO_CLOSE


@dataclass(frozen=True, slots=True, kw_only=True)
class GuardedVerdict:
    """A verdict, the readings that pass, and how likely the true value is within the limits."""

    verdict: str
    least_accepted: float | None
    most_accepted: float | None
    tells_below: float
    conformance_percent: float


def guarded_verdict(
    reading: float,
    uncertainty: float,
    highest: float | None = None,
    lowest: float | None = None,
    coverage_factor: float = 2.0,
) -> GuardedVerdict:
    """Return whether a reading passes when its uncertainty is counted against it.

    reading, limits +-1e12; uncertainty 0..1e12, expanded; all in one unit; coverage_factor 1..10
    by which it was expanded. Readings from `least_accepted` to `most_accepted` pass; a meter whose
    uncertainty is `tells_below` or less could tell this one. ValueError with a sentence.
    Formula: pass where x - U and x + U are within the limits, fail where both are beyond, else too close; p = Phi((T - x) / u), u = U / k.
    Caution: WARNING. Too close to tell is no pass: of a test for safety the hold stays until a better meter says pass.
    Source: JCGM 106:2012 7.2 to 7.4, 8.3.2 (guarded acceptance, guard band U); EN 50678 practice: the uncertainty counts against the reading (from memory).
    """
    value = within("reading", reading, -_MOST, _MOST, "")
    wide = within("uncertainty", uncertainty, 0, _MOST, "")
    factor = within("coverage_factor", coverage_factor, 1, 10, "")
    low, high = _limits(lowest, highest)
    least, most = (end + by for end, by in ((low, wide), (high, -wide)))
    if least > most:
        # The uncertainty is wider than the limits are apart: no reading passes.
        least = most = math.inf
    return GuardedVerdict(
        verdict=settled(value - wide, value + wide, lowest, highest),
        least_accepted=least if math.isfinite(least) else None,
        most_accepted=most if math.isfinite(most) else None,
        tells_below=abs(min(value - low, high - value)),
        conformance_percent=_within(value, wide / factor, low, high) * 100,
    )


def _limits(lowest: float | None, highest: float | None) -> tuple[float, float]:
    if lowest is None and highest is None:
        raise ValueError("highest and lowest are both missing; give the limit.")
    low = -math.inf if lowest is None else within("lowest", lowest, -_MOST, _MOST, "")
    high = math.inf if highest is None else within("highest", highest, -_MOST, _MOST, "")
    if low > high:
        raise ValueError(f"lowest is {low:g}; it must not be above highest, which is {high:g}.")
    return low, high


def _within(value: float, standard: float, low: float, high: float) -> float:
    """Return the probability that the true value is within the limits, a normal one assumed."""
    # Imported where it is asked for: each process and command would load it otherwise.
    from scipy import special  # noqa: PLC0415

    if standard == 0:
        return float(low <= value <= high)
    return float(special.ndtr((high - value) / standard) - special.ndtr((low - value) / standard))
