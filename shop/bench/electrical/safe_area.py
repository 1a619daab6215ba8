"""Safe operating area of an output stage on a load that is not a pure resistance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shop.bench.inputs import rising, same_length, series, whole, within

Amounts = NDArray[np.float64]
Curve = tuple[list[float], list[float]]
RATED_AT_CELSIUS = 25.0
_LEVELS = np.linspace(0.01, 1.0, 100)
_ANGLES = np.linspace(0.0, 2 * math.pi, 721)


@dataclass(frozen=True, slots=True, kw_only=True)
class Derated:
    """What a device may burn at its case temperature, and the slope of its data sheet."""

    allowed_watts: float
    slope_watts_per_kelvin: float
    case_kelvin_per_watt: float
    share_percent: float


def derating(
    rated_watts: float, case_celsius: float, junction_limit_celsius: float = 150.0
) -> Derated:
    """Return the power that a device may burn at a case temperature.

    rated_watts 0.01..2000 W with the case at 25 C, case_celsius -40..250 C, junction_limit_celsius
    50..250 C (150 C plastic, 200 C metal can: from memory of data sheets).
    Formula: P = P25 (Tj - Tc) / (Tj - 25), none from Tj on; RJC = (Tj - 25) / P25.
    Caution: CAUTION. The rating in large print holds for a case at 25 C, which no amplifier has.
    Source: derating factors of data sheets, from memory.
    """
    rated = within("rated_watts", rated_watts, 0.01, 2000, "W")
    limit = within("junction_limit_celsius", junction_limit_celsius, 50, 250, "C")
    case = within("case_celsius", case_celsius, -40, 250, "C")
    share = _derating_share(case, limit)
    span = limit - RATED_AT_CELSIUS
    return Derated(
        allowed_watts=rated * share,
        slope_watts_per_kelvin=rated / span,
        case_kelvin_per_watt=span / rated,
        share_percent=share * 100,
    )


def _derating_share(case: float, limit: float) -> float:
    """Return the share of the rating that is left; a cold case gives no more than all of it."""
    return min(1.0, max(0.0, (limit - case) / (limit - RATED_AT_CELSIUS)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeArea:
    """The moment in which one device is nearest to its limit, or farthest beyond it."""

    verdict: str
    share_percent: float | None  # None: nothing at all is allowed at these volts
    worst_volts: float
    worst_amps: float
    allowed_amps: float
    peak_watts: float
    stand_off_volts: float
    crest_amps: float
    all_pairs_watts: float


def safe_area(
    rail_volts: float,
    load_ohms: float,
    rated_watts: float,
    *,
    phase_degrees: float = 60.0,
    case_celsius: float = 80.0,
    junction_limit_celsius: float = 150.0,
    pairs: float = 1,
    curve_volts: Sequence[float] = (),
    curve_amps: Sequence[float] = (),
) -> SafeArea:
    """Return whether a class AB stage stays in the d.c. safe area of its devices, at every level.

    rail_volts 1..250 V (one rail to chassis), load_ohms 0.5..1000 ohm (magnitude), phase_degrees
    0..90 (45 to 60 for real loudspeakers: common practice), rated_watts 0.1..2000 W of one device at
    25 C, case_celsius -40..250 C, junction limit 50..250 C, pairs 1..32 in parallel. curve_volts and
    curve_amps are points of the d.c. curve of the data sheet (1..32, one each, volts rising); above
    its last voltage nothing is allowed. `stand_off_volts` is what stands across a device when the
    other half is at its peak. all_pairs_watts is the mean of all pairs together at the worst level.
    Verdict: outside, within, or within-watts when no curve was given to compare.
    Formula: vce = Vcc - Vp sin a, ic = Vp sin(a - phi) / Z / pairs; allowed (Tj - Tc) / (Tj - 25) of the lower of P / vce and curve.
    Caution: WARNING. Without the curve second breakdown is not counted: a bipolar device fails inside its watts.
    Source: class B load line with phase; whole curve derated by the factor of its watts, on the safe side: common practice.
    """
    rail = within("rail_volts", rail_volts, 1, 250, "V")
    ohms = within("load_ohms", load_ohms, 0.5, 1000, "ohm")
    rated = within("rated_watts", rated_watts, 0.1, 2000, "W")
    phase = math.radians(within("phase_degrees", phase_degrees, 0, 90, "degrees"))
    limit = within("junction_limit_celsius", junction_limit_celsius, 50, 250, "C")
    case = within("case_celsius", case_celsius, -40, 250, "C")
    if case >= limit:
        raise ValueError(
            f"case_celsius is {case:g} C; it must be below junction_limit_celsius,"
            f" which is {limit:g} C: such a case leaves nothing to burn."
        )
    derated = _derating_share(case, limit)
    devices = whole("pairs", pairs, 1, 32)
    curve = _curve(curve_volts, curve_amps)
    volts, amps = _load_line(rail, ohms * devices, phase)
    allowed = derated * _allowed(volts, rated, curve)
    # Where nothing is allowed the largest current is the worst.
    share = amps / np.maximum(allowed, 1e-9)
    place = np.unravel_index(int(np.argmax(share)), share.shape)
    worst = float(share[place])
    return SafeArea(
        verdict=_verdict(worst, curve),
        share_percent=worst * 100 if allowed[place] > 0 else None,
        worst_volts=float(volts[place]),
        worst_amps=float(amps[place]),
        allowed_amps=float(allowed[place]),
        peak_watts=float((volts * amps).max()),
        stand_off_volts=2 * rail,
        crest_amps=rail / ohms / devices,
        all_pairs_watts=_mean_watts(rail, ohms, phase),
    )


def _verdict(worst: float, curve: Curve | None) -> str:
    """Return within only with the curve: a rating in watts says nothing of second breakdown."""
    if worst > 1 + 1e-9:
        return "outside"
    return "within-watts" if curve is None else "within"


def _load_line(rail: float, ohms: float, phase: float) -> tuple[Amounts, Amounts]:
    """Return volts across one device and amps through it, by level and angle; 0 A while it is off."""
    peaks = rail * _LEVELS[:, None]
    volts = rail - peaks * np.sin(_ANGLES)
    amps = peaks / ohms * np.sin(_ANGLES - phase)
    return volts, np.maximum(amps, 0.0)


def _allowed(volts: Amounts, rated: float, curve: Curve | None) -> Amounts:
    """Return the amps that the data sheet allows at these volts with the case at 25 C."""
    by_watts: Amounts = rated / np.maximum(volts, 1e-9)
    if curve is None:
        return by_watts
    marks, currents = np.log(curve[0]), np.log(curve[1])
    # The curve is straight between its points on the two logarithmic scales it is printed on.
    drawn = np.exp(np.interp(np.log(np.maximum(volts, 1e-9)), marks, currents))
    drawn[volts > curve[0][-1] * (1 + 1e-9)] = 0.0
    return np.minimum(by_watts, drawn)


def _mean_watts(rail: float, ohms: float, phase: float) -> float:
    """Return what both halves burn on average at the level where that is most."""
    at = min(1.0, 2 / (math.pi * max(math.cos(phase), 1e-9)))
    return rail**2 / ohms * (2 / math.pi * at - at**2 / 2 * math.cos(phase))


def _curve(curve_volts: Sequence[float], curve_amps: Sequence[float]) -> Curve | None:
    if not curve_volts and not curve_amps:
        return None
    volts = series("curve_volts", curve_volts, low=0.1, high=2000, unit="V")
    amps = series("curve_amps", curve_amps, low=0.001, high=500, unit="A")
    same_length("curve_volts", volts, "curve_amps", amps)
    rising("curve_volts", volts, "V")
    return volts, amps
