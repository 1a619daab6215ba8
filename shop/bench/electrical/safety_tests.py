"""Limits and networks of the electrical tests after repair."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.electrical.guard_bands import settled
from shop.bench.inputs import one_of, within

ProtectiveClass = Literal["I", "II", "III"]
Practice = Literal["after-repair", "iec", "us-service"]
TOUCH_LIMIT_MILLIAMPS = 0.5
EARTHED_LIMIT_MILLIAMPS = 3.5
# Of an earth path with thick conductors, both from memory: what its joints may have, and copper.
JOINTS_OHMS = 0.1
COPPER_OHM_MM2_PER_METRE = 0.0178

# IEC 60990 figure 4, read: 1500 ohm with 0.22 uF across it, then 500 ohm; filter 10 kohm, 22 nF.
RS, CS, RB, R1, C1 = 1500.0, 0.22e-6, 500.0, 10_000.0, 22e-9


@dataclass(frozen=True, slots=True)
class EarthLimit:
    """Largest protective-earth resistance for a lead of this length and cross-section."""

    limit_ohms: float


def earth_limit(cord_metres: float, square_millimetres: float = 1.5) -> EarthLimit:
    """Return the largest protective-earth resistance after repair for a mains lead.

    cord_metres 0..200 m, square_millimetres 0.5..35 mm2 of its conductors: up to 1.5 mm2, as
    leads up to 16 A have, by the table; above, worked out. ValueError with a sentence.
    Formula: 0.3 ohm up to 5 m, 0.1 ohm more for each started 7.5 m; above 1.5 mm2 0.1 ohm and rho l / A; at most 1 ohm.
    Caution: WARNING. Bend the lead along its length while you measure; a broken strand hides.
    Source: DIN VDE 0701-0702:2008-06, read in a test instrument manual (W3.7). That thicker conductors are worked out, from 0.1 ohm up: EN 50678 as told on a test instrument maker's page, read; 0.1 ohm for the joints and copper of 0.0178 ohm mm2/m: from memory.
    """
    length = within("cord_metres", cord_metres, 0, 200, "m")
    area = within("square_millimetres", square_millimetres, 0.5, 35, "mm2")
    if area > 1.5:
        return EarthLimit(min(1.0, JOINTS_OHMS + COPPER_OHM_MM2_PER_METRE * length / area))
    further = max(0, math.ceil((length - 5) / 7.5))
    return EarthLimit(min(1.0, round(0.3 + 0.1 * further, 1)))


@dataclass(frozen=True, slots=True)
class EarthBond:
    """An earth bond tested with a current."""

    drop_volts: float
    limit_ohms: float
    verdict: str


def earth_bond(
    ohms: float,
    test_amps: float = 20.0,
    limit_ohms: float = 0.1,
    uncertainty_ohms: float = 0.0,
) -> EarthBond:
    """Return the drop of an earth bond test and whether it passes.

    ohms 0..100 ohm, test_amps 0.1..60 A, limit_ohms 0.01..2 ohm (0.1 ohm without the lead by
    the product standard, from memory); uncertainty_ohms 0..100 ohm of the reading counts against it.
    Formula: V = I R; passes when R and its uncertainty are within the limit.
    Caution: WARNING. Test currents of 10 A and more heat thin wires: clamp well, be brief.
    Source: values of a test report form (W3.9).
    """
    bond = within("ohms", ohms, 0, 100, "ohm")
    limit = within("limit_ohms", limit_ohms, 0.01, 2, "ohm")
    drop = bond * within("test_amps", test_amps, 0.1, 60, "A")
    off = within("uncertainty_ohms", uncertainty_ohms, 0, 100, "ohm")
    return EarthBond(drop, limit, settled(bond - off, bond + off, highest=limit))


@dataclass(frozen=True, slots=True)
class TouchCurrent:
    """Current through a body network, from the voltage across it."""

    impedance_ohms: float
    milliamps: float


def touch_current(
    volts: float, hertz: float = 50.0, ohms: float = 1500.0, microfarads: float = 0.15
) -> TouchCurrent:
    """Return the r.m.s. touch current through a resistor with a capacitor across it.

    The default is the network of US service practice, 1.5 kohm with 0.15 uF.
    volts 0..300 V r.m.s., hertz 1..1e6 Hz. ValueError with a sentence.
    Formula: |Z| = R / sqrt(1 + (2 pi f R C)^2); I = V / |Z|.
    Caution: DANGER. The unit is on live mains for this test: no hand on it while you switch.
    Source: consumer-audio service manuals, 0.75 V = 0.5 mA at 60 Hz (W3.1, W3.2).
    """
    within("volts", volts, 0, 300, "V")
    within("hertz", hertz, 1, 1e6, "Hz")
    within("ohms", ohms, 1, 1e6, "ohm")
    within("microfarads", microfarads, 0, 100, "uF")
    impedance = ohms / math.hypot(1.0, 2 * math.pi * hertz * ohms * microfarads * 1e-6)
    return TouchCurrent(impedance, volts / impedance * 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightedTouch:
    """Touch current by the weighted network of IEC 60990, figure 4."""

    milliamps: float
    weighting: float
    network_ohms: float
    limit_milliamps: float
    verdict: str


def weighted_touch_current(
    u2_volts: float, hertz: float = 50.0, peak: bool = False, uncertainty_volts: float = 0.0
) -> WeightedTouch:
    """Return the weighted touch current from the output voltage U2 of the network.

    u2_volts 0..50 V, hertz 0..1e6 Hz (0 for d.c.); `peak` says that U2 is a peak value: the
    limit is then 0.7 mA, else 0.5 mA r.m.s. uncertainty_volts 0..50 V of U2 counts against it. `weighting` is what the filter leaves of the
    unweighted current at this frequency.
    Formula: I = U2 / 500 ohm; filter 10 kohm with 22 nF across 500 ohm behind 1500 ohm with 0.22 uF.
    Caution: DANGER. The unit is on live mains for this test: no hand on it while you switch.
    Source: IEC 60990 figure 4 as read in a meter's manual (W3.3, W3.4). The standard itself sets no limit.
    """
    level = within("u2_volts", u2_volts, 0, 50, "V")
    frequency = within("hertz", hertz, 0, 1e6, "Hz")
    # Below a millionth of a hertz it is d.c., and one over it no longer a number.
    current, weighting, network = _network(level, frequency if frequency > 1e-6 else 0.0)
    limit = 0.7 if peak else TOUCH_LIMIT_MILLIAMPS
    off = within("uncertainty_volts", uncertainty_volts, 0, 50, "V") / RB * 1000
    verdict = settled(current - off, current + off, highest=limit)
    return WeightedTouch(
        milliamps=current,
        weighting=weighting,
        network_ohms=network,
        limit_milliamps=limit,
        verdict=verdict,
    )


def _network(u2_volts: float, hertz: float) -> tuple[float, float, float]:
    """Return the weighted current in mA, the weighting, and |Z| of the network in ohm."""
    omega = 2 * math.pi * hertz
    first = RS / (1 + 1j * omega * RS * CS)
    # The filter hangs across the 500 ohm and draws a little: it counts.
    filtered = R1 + (1 / (1j * omega * C1) if omega else math.inf)
    below = RB if math.isinf(abs(filtered)) else RB * filtered / (RB + filtered)
    gain = 1.0 if not omega else abs(1 / (1j * omega * C1) / filtered)
    weighting = gain * abs(below) / RB
    return u2_volts / RB * 1000, weighting, abs(first + below)


@dataclass(frozen=True, slots=True)
class YLeakage:
    """Current through a capacitor from the live side to a touched chassis."""

    milliamps: float
    floating_verdict: str
    earthed_verdict: str


def y_capacitor_current(
    nanofarads: float, mains_volts: float = 230.0, hertz: float = 50.0
) -> YLeakage:
    """Return the current of the Y capacitance on the live side.

    nanofarads 0..1000 nF, mains_volts 0..500 V, hertz 1..1000 Hz. Only what hangs on the live
    conductor drives a touched chassis; two Y capacitors do not add unless both do.
    Formula: I = 2 pi f C V; against 0.5 mA floating and 3.5 mA earthed.
    Caution: WARNING. Neutral is live when the plug can be turned.
    Source: I = 2 pi f C V (W3.5, W3.6); 0.5 and 3.5 mA: DIN VDE 0701-0702, read in an instrument manual.
    """
    farads = within("nanofarads", nanofarads, 0, 1000, "nF") * 1e-9
    volts = within("mains_volts", mains_volts, 0, 500, "V")
    current = 2 * math.pi * within("hertz", hertz, 1, 1000, "Hz") * farads * volts * 1000
    floating = "pass" if current <= TOUCH_LIMIT_MILLIAMPS else "fail"
    return YLeakage(current, floating, "pass" if current <= EARTHED_LIMIT_MILLIAMPS else "fail")


@dataclass(frozen=True, slots=True)
class Insulation:
    """An insulation reading against its limit."""

    limit_megohms: float
    test_volts: float
    verdict: str
    source: str


# Mohm by practice and class, and where each comes from.
_INSULATION: dict[str, dict[str, float]] = {
    "after-repair": {"I": 1.0, "II": 2.0, "III": 0.25},
    "iec": {"I": 2.0, "II": 4.0, "III": 0.25},
    "us-service": {"I": 1.0, "II": 1.0, "III": 0.25},
}
_INSULATION_SOURCE = {
    "after-repair": "DIN VDE 0701-0702:2008-06, read in a test instrument manual",
    "iec": "IEC 60065 cl. 10.3, from memory; class III as after repair",
    "us-service": "cold check of service manuals, 1 Mohm, read; class III as after repair",
}


def insulation_resistance(
    megohms: float,
    protective_class: ProtectiveClass = "II",
    practice: Practice = "after-repair",
    heating_element: bool = False,
    uncertainty_megohms: float = 0.0,
) -> Insulation:
    """Return whether an insulation reading passes, by protective class and practice.

    megohms 0..1e6 Mohm at 500 V d.c.; a unit with a heating element needs 0.3 Mohm after repair.
    uncertainty_megohms 0..1e6 Mohm of the reading counts against it.
    Formula: reading less its uncertainty against the limit of class and practice.
    Caution: WARNING. 500 V on the primary: discharge it afterwards; parts that clamp are taken off first.
    Source: DIN VDE 0701-0702 (read in an instrument manual; W3.8), IEC 60065 (memory), US manuals (read).
    """
    reading = within("megohms", megohms, 0, 1e6, "Mohm")
    table = _INSULATION[one_of("practice", practice, tuple(_INSULATION))]
    limit = table[one_of("protective_class", protective_class, tuple(table))]
    if heating_element and practice == "after-repair" and protective_class == "I":
        limit = 0.3
    off = within("uncertainty_megohms", uncertainty_megohms, 0, 1e6, "Mohm")
    verdict = settled(reading - off, reading + off, lowest=limit)
    return Insulation(limit, 500.0, verdict, _INSULATION_SOURCE[practice])


LEAST_STRAP_MEGOHMS = 0.8


@dataclass(frozen=True, slots=True)
class StaticGuard:
    """Wrist strap and mat against the limits of the static-control standard."""

    strap_verdict: str
    mat_verdict: str
    strap_milliamps_at_250_volts: float


def static_guard(strap_megohms: float = 1.0, mat_megohms: float = 10.0) -> StaticGuard:
    """Return whether a wrist-strap system and a work surface are good.

    strap_megohms 0.001..1e6, mat_megohms 0.001..1e9 Mohm.
    Formula: strap system from 0.8 Mohm, which limits a fault, to below 35 Mohm; surface 1 to 1000 Mohm.
    Caution: DANGER. No wrist strap while anything hazardous is live; the megohm in it is for one fault only.
    Source: ANSI/ESD S20.20 as told in published notes (W10.1 to W10.3); 0.8 Mohm of ANSI/ESD S1.1 from memory.
    """
    strap = within("strap_megohms", strap_megohms, 0.001, 1e6, "Mohm")
    mat = within("mat_megohms", mat_megohms, 0.001, 1e9, "Mohm")
    strap_ok, mat_ok = LEAST_STRAP_MEGOHMS <= strap < 35, 1 <= mat <= 1000
    return StaticGuard(
        "pass" if strap_ok else "fail", "pass" if mat_ok else "fail", 250 / strap / 1000
    )
