"""What a voltage or a charge can do to a person: classes and thresholds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from checklists.engine.figures import grouped
from shop.bench.inputs import Doubtful, within

# IEC 62368-1:2018 Table 4, steady state up to 1 kHz, read second-hand: d.c., r.m.s., peak.
ES1_VOLTS, ES2_VOLTS = (60.0, 30.0, 42.4), (120.0, 50.0, 70.7)
BODY_OHMS = 1000.0
CHARGE_LIMIT_MICROCOULOMBS = 45.0
# From which energy a capacitor of so many volts is a shock hazard, (V, J), highest volts first:
# NFPA 70E Article 360, from memory.
SHOCK_JOULES = ((400.0, 0.25), (100.0, 1.0))
LABORATORY_JOULES = 10.0  # at 100 V and more, in use at a US national laboratory, read
HARDLY_MEANT_JOULES = 1000.0  # no audio unit holds a kilojoule: a wrong unit, most likely


def dc_class(volts: float) -> str:
    """Return ES1, ES2 or ES3 for a steady direct voltage in V.

    Source: IEC 62368-1:2018 Table 4, 60 V and 120 V (read second-hand); W1.1.
    """
    within("volts", volts, 0, 1e6, "V")
    if volts <= 60:
        return "ES1"
    return "ES2" if volts <= 120 else "ES3"


# IEC 62368-1:2018 Table 5, charged capacitors, read second-hand: nF, and the peak volts up to which
# one is ES1; ES2 goes to twice that. Between two lines it is a straight line.
CHARGED_NANOFARADS = (
    0.133,
    0.2,
    0.4,
    0.8,
    1.6,
    4.0,
    8.0,
    12.0,
    18.0,
    28.0,
    41.0,
    61.0,
    91.0,
    170.0,
    300.0,
)
CHARGED_ES1_VOLTS = (
    25e3,
    20e3,
    10e3,
    5e3,
    2500.0,
    1000.0,
    500.0,
    350.0,
    250.0,
    200.0,
    150.0,
    125.0,
    100.0,
    75.0,
    60.0,
)


@dataclass(frozen=True, slots=True)
class CapacitorClass:
    """The class of a charged capacitor, and up to which voltages it is ES1 and ES2."""

    energy_class: str
    es1_volts: float
    es2_volts: float


def capacitor_class(
    volts: float, nanofarads: float, tolerance_percent: float = 20.0
) -> CapacitorClass:
    """Return ES1, ES2 or ES3 of a charged capacitor that nothing charges again.

    volts 0..100,000 V, nanofarads 0.001..1e10 nF as marked, tolerance_percent 0..100 % that it may
    have more.
    Formula: limits by capacitance, from 60 and 120 V at 300 nF to 25 and 50 kV at 0.133 nF.
    Caution: WARNING. The source behind it may be in a higher class: mains off, discharged, measured.
    Source: IEC 62368-1:2018 Table 5, read second-hand.
    """
    charged = within("volts", volts, 0, 1e5, "V")
    marked = within("nanofarads", nanofarads, 1e-3, 1e10, "nF")
    most = marked * (1 + within("tolerance_percent", tolerance_percent, 0, 100, "%") / 100)
    es1 = float(np.interp(most, CHARGED_NANOFARADS, CHARGED_ES1_VOLTS))
    name = "ES1" if charged <= es1 else "ES2" if charged <= 2 * es1 else "ES3"
    return CapacitorClass(name, es1, 2 * es1)


def joules(volts: float, microfarads: float, meant: bool = False) -> float:
    """Return C V^2 / 2 in J; Doubtful when no audio unit would hold it and nobody said so."""
    energy = microfarads * 1e-6 * volts**2 / 2
    if energy > HARDLY_MEANT_JOULES and not meant:
        raise Doubtful(
            f"microfarads is {microfarads:g} uF at {volts:g} V: that would hold {grouped(round(energy))} J,"
            " far more than any audio unit. Is it meant? Check the unit (uF, not nF or pF);"
            " if it is right, say that it is meant."
        )
    return energy


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredEnergy:
    """Energy and charge in a capacitor, and the hazard thresholds it passes.

    `energy_class`: of the charge that is in it; `dc_class`: of a steady source of so many volts.
    `shock_hazard`: by its energy alone. `over_laboratory_figure`: 10 J or more at 100 V or more, ten times what is a shock hazard.
    """

    energy_j: float
    charge_microcoulombs: float
    energy_class: str
    dc_class: str
    shock_hazard: bool
    burn_hazard: bool
    over_charge_limit: bool
    over_laboratory_figure: bool


def stored_energy(volts: float, microfarads: float, meant: bool = False) -> StoredEnergy:
    """Return what a capacitor holds, and whether that can hurt.

    volts 0..100,000 V, microfarads 0..1e7 uF. More than 1 kJ asks whether it is `meant`. A shock
    hazard from 1 J at 100 V and more, from 0.25 J at 400 V and more; a burn above 100 J below 100 V.
    `over_charge_limit`: more than 45 uC, from 450 V up the limit behind protective impedance.
    Formula: E = C V^2 / 2; Q = C V.
    Caution: DANGER. What is stored does not need the mains to kill: discharge, wait, measure.
    Source: NFPA 70E Article 360, from memory; IEC 62368-1:2018 Table 5, read second-hand; 10 J and 100 J at a US national laboratory (W1.3, W1.4).
    """
    within("volts", volts, 0, 1e5, "V")
    within("microfarads", microfarads, 0, 1e7, "uF")
    energy, charge = joules(volts, microfarads, meant), microfarads * volts
    # A hair of slack: 200 uF at 100 V must not fall on the safe side by rounding.
    held = energy * (1 + 1e-9)
    burn = volts < 100 and energy > 100
    over = charge > CHARGE_LIMIT_MICROCOULOMBS * (1 + 1e-9)
    return StoredEnergy(
        energy_j=energy,
        charge_microcoulombs=charge,
        energy_class=_charged_class(volts, microfarads),
        dc_class=dc_class(volts),
        shock_hazard=any(volts >= least and held >= most for least, most in SHOCK_JOULES),
        burn_hazard=burn,
        over_charge_limit=over,
        over_laboratory_figure=volts >= 100 and held >= LABORATORY_JOULES,
    )


def _charged_class(volts: float, microfarads: float) -> str:
    if not microfarads:
        return "ES1"
    # The value given may be measured or marked: no tolerance is added here.
    return capacitor_class(volts, max(1e-3, 1e3 * microfarads), 0.0).energy_class


@dataclass(frozen=True, slots=True)
class EnergyClass:
    """The class of an electrical source, and the current it would drive through a body."""

    energy_class: str
    body_milliamps: float
    next_limit_volts: float


def energy_class(
    dc_volts: float = 0.0,
    rms_volts: float = 0.0,
    peak_volts: float | None = None,
    hertz: float = 50.0,
) -> EnergyClass:
    """Return ES1, ES2 or ES3 of a steady source; r.m.s. and peak must both pass.

    Voltages 0..1e6 V. Without `peak_volts` a sine is assumed. hertz 0..1e8 Hz of the a.c. part.
    `body_milliamps` is the largest of them, r.m.s., through 1000 ohm. By voltage alone: a source that
    cannot give the current may be in a lower class. ValueError when nothing is given.
    Formula: ES1 up to 60 V d.c., 30 V r.m.s., 42.4 V peak; ES2 up to 120, 50, 70.7 V; else ES3;
    from 1 to 100 kHz 0.4 V r.m.s. more for each kHz of ES1, 0.9 V of ES2, above 70 and 140 V;
    d.c. and a.c. together: the sum of their shares of the limits.
    Caution: WARNING. 50 V is a threshold of rules, not a promise: wet hands have far less than 1000 ohm.
    Source: IEC 62368-1:2018 Table 4, with combined voltages, read second-hand (W1.1, W1.2, W1.7).
    """
    dc = within("dc_volts", dc_volts, 0, 1e6, "V")
    rms = within("rms_volts", rms_volts, 0, 1e6, "V")
    # The peak of a sine is judged by its r.m.s.: 30 V has 42.43 V, and the table says 42.4.
    peak = 0.0 if peak_volts is None else within("peak_volts", peak_volts, 0, 1e6, "V")
    if not (dc or rms or peak):
        raise ValueError("dc_volts, rms_volts and peak_volts are all 0; give at least one of them.")
    given = (dc, rms, peak)
    kilohertz = within("hertz", hertz, 0, 1e8, "Hz") / 1000
    es1, es2 = _at(ES1_VOLTS, kilohertz, 0.4, 70.0), _at(ES2_VOLTS, kilohertz, 0.9, 140.0)
    if _together(given, es1) <= 1:
        name, limits = "ES1", es1
    else:
        name, limits = "ES2" if _together(given, es2) <= 1 else "ES3", es2
    nearest = limits[0] if dc else limits[1] if rms else limits[2]
    return EnergyClass(name, max(dc, rms, peak / math.sqrt(2)) / BODY_OHMS * 1000, nearest)


def _at(
    limits: tuple[float, float, float], kilohertz: float, slope: float, most: float
) -> tuple[float, float, float]:
    """Return the limits for d.c., r.m.s. and peak at a frequency: fast current hurts less."""
    dc, rms, peak = limits
    if kilohertz > 100:
        return dc, most, round(most * math.sqrt(2))
    more = slope * kilohertz if kilohertz > 1 else 0.0
    return dc, rms + more, peak + more * math.sqrt(2)


def _together(given: tuple[float, float, float], limits: tuple[float, float, float]) -> float:
    """Return how much of its limits a source of d.c. and a.c. takes, 1 being all."""
    dc, rms, peak = (value / limit for value, limit in zip(given, limits, strict=True))
    return dc + max(rms, peak)


@dataclass(frozen=True, slots=True)
class MainsPeak:
    """What a rectifier makes of a mains voltage, without load."""

    peak_volts: float
    doubled_volts: float
    bus_volts: float
    energy_class: str


def mains_peak(rms_volts: float, corrected_bus_volts: float = 0.0) -> MainsPeak:
    """Return the bus voltage behind a rectifier, and behind a doubler, from the mains in V r.m.s.

    rms_volts 1..1000 V, corrected_bus_volts 0..1000 V of a supply with power factor correction
    (380 to 400 V, from memory), 0 of one without. `bus_volts` is the higher of peak and
    corrected bus: what the primary reservoir holds where nothing doubles.
    Formula: Vpk = sqrt(2) Vrms; a doubler gives twice that.
    Caution: DANGER. A primary bus stays charged when the primary is open or the fuse has blown.
    Source: peak of a sine (W14.1 to W14.3).
    """
    peak = within("rms_volts", rms_volts, 1, 1000, "V") * math.sqrt(2)
    corrected = within("corrected_bus_volts", corrected_bus_volts, 0, 1000, "V")
    bus = max(peak, corrected)
    return MainsPeak(peak, 2 * peak, bus, dc_class(bus))


@dataclass(frozen=True, slots=True)
class WrongMains:
    """What a winding made for one mains sees on another."""

    voltage_ratio: float
    power_ratio: float


def wrong_mains(made_for_volts: float, supplied_volts: float) -> WrongMains:
    """Return how much voltage and power a linear load sees on the wrong mains.

    Both 50..500 V.
    Formula: ratio = V/Vmade; power goes with its square.
    Caution: WARNING. Rating plate, selector and fuse are checked before the plug goes in.
    Source: arithmetic (W14.5).
    """
    made_for = within("made_for_volts", made_for_volts, 50, 500, "V")
    ratio = within("supplied_volts", supplied_volts, 50, 500, "V") / made_for
    return WrongMains(ratio, ratio**2)
