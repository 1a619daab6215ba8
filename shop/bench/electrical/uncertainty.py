"""How far a reading may be off: the accuracy of a meter, and several uncertainties together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shop.bench.inputs import same_length, series, within

_MOST = 1e12
# Of what is spread evenly between two ends, 95 % lies within this share of the half-width.
_RECTANGULAR_95 = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterAccuracy:
    """How far a reading may be off by the data sheet, in the unit of the reading."""

    give_or_take: float
    lowest: float
    highest: float
    share_percent: float | None
    standard_uncertainty: float
    expanded_uncertainty: float


def meter_accuracy(
    reading: float,
    reading_percent: float = 0.0,
    counts: float = 0.0,
    resolution: float = 0.0,
    range_percent: float = 0.0,
    full_range: float = 0.0,
) -> MeterAccuracy:
    """Return how far a reading may be off by the accuracy on a meter's data sheet.

    reading, resolution (the last digit) and full_range +-1e12, all in one unit; counts 0..10,000
    of the last digit; percents 0..100. `expanded_uncertainty` holds for 95 %. ValueError with a
    sentence.
    Formula: a = p |x| + q range + counts times resolution, at least half a digit; u = a / sqrt(3); U = 0.95 a.
    Caution: CAUTION. It holds within the meter's calibration, at its temperature and frequency, on the range named.
    Source: JCGM 100:2008 4.3.7 (an accuracy is a half-width, spread evenly); 0.95 a: coverage of an even spread.
    """
    value = within("reading", reading, -_MOST, _MOST, "")
    digit = within("resolution", resolution, 0, _MOST, "")
    most = abs(within("full_range", full_range, -_MOST, _MOST, ""))
    of_range = within("range_percent", range_percent, 0, 100, "%")
    digits = within("counts", counts, 0, 10_000, "")
    _nothing_left_out(digits, digit, of_range, most)
    half = (
        abs(value) * within("reading_percent", reading_percent, 0, 100, "%") / 100
        + most * of_range / 100
        + digits * digit
    )
    half = max(half, digit / 2)
    if half == 0:
        raise ValueError("reading_percent, range_percent and resolution are all 0; give one.")
    return MeterAccuracy(
        give_or_take=half,
        lowest=value - half,
        highest=value + half,
        share_percent=half / abs(value) * 100 if abs(value) > half * 1e-9 else None,
        standard_uncertainty=half / math.sqrt(3),
        expanded_uncertainty=_RECTANGULAR_95 * half,
    )


def _nothing_left_out(counts: float, digit: float, range_percent: float, most: float) -> None:
    """Refuse a part of the accuracy whose unit is missing: it would count as nothing."""
    if counts and not digit:
        raise ValueError(f"resolution is missing; with it counts, {counts:g}, become a value.")
    if range_percent and not most:
        raise ValueError(
            f"full_range is missing; with it range_percent, {range_percent:g} %, becomes a value."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CombinedUncertainty:
    """Several uncertainties together; `effective_degrees` is None when they have no end."""

    standard_uncertainty: float
    effective_degrees: float | None
    coverage_factor: float
    expanded_uncertainty: float
    largest_share_percent: float
    largest_is: int


def combined_uncertainty(
    uncertainties: Sequence[float],
    sensitivities: Sequence[float] = (),
    degrees: Sequence[float] = (),
    confidence: float = 0.95,
) -> CombinedUncertainty:
    """Return the combined and the expanded uncertainty of independent contributions.

    uncertainties: standard, 0..1e12 each; sensitivities +-1e12, one each, or none for 1; degrees
    of freedom 1..1e9, one each, or none (0 in one place: no end); confidence 0.5..0.9999.
    `largest_is` counts from 1. ValueError with a sentence.
    Formula: u^2 = sum (c u)^2; v = u^4 / sum ((c u)^4 / v), cut to a whole number; U = t(v) u.
    Caution: NOTICE. Contributions that hang together, as two readings of one meter do, do not add so.
    Source: JCGM 100:2008 5.1.2, G.4.1, G.6.4.
    """
    # Imported where it is asked for: each process and command would load it otherwise.
    from scipy import special  # noqa: PLC0415

    parts = _parts(uncertainties, sensitivities)
    freedom = _degrees(degrees, parts)
    level = within("confidence", confidence, 0.5, 0.9999, "")
    together = math.hypot(*parts)
    if together == 0:
        raise ValueError("uncertainties are all 0; at least one must be above.")
    shares = [part / together for part in parts]
    spread = sum(share**4 / v for share, v in zip(shares, freedom, strict=True) if v)
    effective = max(1.0, float(math.floor(1 / spread + 1e-9))) if spread > 1e-9 else None
    reach = (1 + level) / 2
    factor = float(special.ndtri(reach) if effective is None else special.stdtrit(effective, reach))
    largest = max(shares)
    return CombinedUncertainty(
        standard_uncertainty=together,
        effective_degrees=effective,
        coverage_factor=factor,
        expanded_uncertainty=factor * together,
        largest_share_percent=largest**2 * 100,
        largest_is=shares.index(largest) + 1,
    )


def _parts(uncertainties: Sequence[float], sensitivities: Sequence[float]) -> list[float]:
    """Return each contribution to the result: the uncertainty times its sensitivity."""
    given = series("uncertainties", uncertainties, low=0, high=_MOST, unit="")
    if not sensitivities:
        return given
    by = series("sensitivities", sensitivities, low=-_MOST, high=_MOST, unit="")
    same_length("uncertainties", given, "sensitivities", by)
    return [abs(factor) * one for factor, one in zip(by, given, strict=True)]


def _degrees(degrees: Sequence[float], parts: list[float]) -> list[float]:
    """Return the degrees of freedom of each part; 0 stands for those without end."""
    if not degrees:
        return [0.0] * len(parts)
    given = series("degrees", degrees, low=0, high=1e9, unit="")
    same_length("uncertainties", parts, "degrees", given)
    for one in given:
        if 0 < one < 1:
            raise ValueError(f"degrees is {one:g}; it must be 1 or more, or 0 for no end.")
    return given
