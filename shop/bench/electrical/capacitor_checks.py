"""Electrolytics on the meter and in series: series resistance against its limit, sharing of voltage."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.electrical.preferred_values import at_most
from shop.bench.inputs import whole, within

# Largest tan delta at 120 Hz and 20 C by rated voltage: a maker's general-purpose series, read.
# Above 1000 uF another 0.02 for each 1000 uF.
TAN_DELTA = (
    (6.3, 0.23), (10, 0.20), (16, 0.16), (25, 0.14), (35, 0.12), (50, 0.10), (63, 0.09),
    (100, 0.08), (160, 0.12), (200, 0.14), (250, 0.17), (350, 0.20), (630, 0.25),
)  # fmt: skip
_EXTRA_PER_1000_MICROFARADS = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class EsrLimit:
    """The most that the series resistance of a capacitor may be, and what the meter says of it."""

    tan_delta: float
    limit_ohms: float
    measured_tan_delta: float | None
    verdict: str | None


def esr_limit(
    microfarads: float,
    rated_volts: float,
    measured_ohms: float | None = None,
    *,
    tan_delta: float | None = None,
    hertz: float = 120.0,
) -> EsrLimit:
    """Return the largest series resistance (ESR) of a new electrolytic, by its tan delta.

    microfarads 0.1..1e6 uF, rated_volts 2..630 V, measured_ohms 0..10,000 ohm at the same frequency,
    tan_delta 0.001..2 of the data sheet (a general-purpose series where not given), hertz 50..1000 Hz
    of the bridge. Verdict: pass up to the limit of a new one, worn up to twice it, renew beyond; none
    without a reading.
    Formula: ESR = tan delta / (2 pi f C).
    Caution: DANGER. Discharge, wait, measure before the meter goes on: it dies of a charge, and so may you.
    Source: tangent of the loss angle of IEC 60384-1; table of a maker's general-purpose series, read; twice the specified value is the end of life on data sheets, read. An ESR meter at 100 kHz reads less and is no measure of this limit.
    """
    farads = within("microfarads", microfarads, 0.1, 1e6, "uF") * 1e-6
    volts = within("rated_volts", rated_volts, 2, 630, "V")
    frequency = within("hertz", hertz, 50, 1000, "Hz")
    allowed = (
        _usual_tan_delta(volts, microfarads)
        if tan_delta is None
        else within("tan_delta", tan_delta, 0.001, 2, "")
    )
    reactance = 1 / (2 * math.pi * frequency * farads)
    measured = None
    if measured_ohms is not None:
        measured = within("measured_ohms", measured_ohms, 0, 10_000, "ohm") / reactance
    return EsrLimit(
        tan_delta=allowed,
        limit_ohms=allowed * reactance,
        measured_tan_delta=measured,
        verdict=_verdict(measured, allowed),
    )


def _usual_tan_delta(volts: float, microfarads: float) -> float:
    """Return the table's figure for the next rated voltage that the table has."""
    base = next(most for rated, most in TAN_DELTA if volts <= rated)
    thousands = max(0, math.ceil(microfarads / 1000) - 1)
    return base + _EXTRA_PER_1000_MICROFARADS * thousands


def _verdict(measured: float | None, allowed: float) -> str | None:
    if measured is None:
        return None
    if measured <= allowed * (1 + 1e-9):
        return "pass"
    return "worn" if measured <= 2 * allowed * (1 + 1e-9) else "renew"


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesBalance:
    """Resistors across capacitors in series, and what each capacitor then sees at worst."""

    largest_ohms: float
    preferred_ohms: float
    each_watts: float
    chain_milliamps: float
    worst_volts: float
    switch_on_volts: float
    verdict: str


def series_balance(
    total_volts: float,
    rated_volts: float,
    leakage_milliamps: float,
    in_series: float = 2,
    tolerance_percent: float = 20.0,
    resistor_percent: float = 5.0,
) -> SeriesBalance:
    """Return the resistor across each of several equal electrolytics in series.

    total_volts 2..5000 V across all, rated_volts 2..1000 V of each, leakage_milliamps 0.001..100 mA
    by which their leakages may differ (the limit of the data sheet, the others taken as tight),
    in_series 2..20, tolerance 0..50 % of the capacitance, resistor_percent 0..20 % of the resistors.
    worst_volts is what the tightest sees with the preferred resistor, its own at the top of the
    tolerance and the others at the bottom; switch_on_volts what the smallest sees before the resistors work. Verdict:
    too-little when switch-on or the even share is above the rating, else enough.
    Formula: V1 = (1 + d) (V + (n - 1) (1 - d) dI R) / k, k = 1 + d + (n - 1)(1 - d), at most Vr;
    with d = 0 R = (n Vr - V) / ((n - 1) dI); at switch-on V (1 + t) / (1 + t + (n - 1)(1 - t)).
    Caution: DANGER. Each capacitor holds its own charge, and a resistor may be open: discharge and measure each.
    Source: makers' application notes, formula read; nodal analysis.
    """
    total = within("total_volts", total_volts, 2, 5000, "V")
    rated = within("rated_volts", rated_volts, 2, 1000, "V")
    apart = within("leakage_milliamps", leakage_milliamps, 0.001, 100, "mA") / 1000
    count = whole("in_series", in_series, 2, 20)
    share = within("tolerance_percent", tolerance_percent, 0, 50, "%") / 100
    off = within("resistor_percent", resistor_percent, 0, 20, "%") / 100
    spread = (1 + off + (count - 1) * (1 - off)) / (1 + off)
    if spread * rated <= total:
        raise ValueError(
            f"rated_volts is {rated:g} V; {count} in series with resistors of {resistor_percent:g} %"
            f" hold less than {spread * rated:.4g} V, and total_volts is {total:g} V."
        )
    largest = (spread * rated - total) / ((count - 1) * (1 - off) * apart)
    preferred = at_most(largest, "E12")
    worst = (total + (count - 1) * (1 - off) * apart * preferred) / spread
    small = 1 - share
    switch_on = total * (1 + share) / (1 + share + (count - 1) * small)
    return SeriesBalance(
        largest_ohms=largest,
        preferred_ohms=preferred,
        each_watts=worst**2 / preferred,
        chain_milliamps=total / count / preferred * 1000,
        worst_volts=worst,
        switch_on_volts=switch_on,
        verdict="too-little" if switch_on > rated * (1 + 1e-9) else "enough",
    )
