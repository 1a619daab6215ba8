"""Limits and networks of the electrical tests after repair."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.inputs import within


@dataclass(frozen=True, slots=True)
class EarthLimit:
    """Largest protective-earth resistance for a lead of this length."""

    limit_ohms: float


def earth_limit(cord_metres: float) -> EarthLimit:
    """Return 0.3 ohm up to 5 m and 0.1 ohm more for each started 7.5 m, at most 1 ohm.

    cord_metres 0..200 m. ValueError with a sentence.
    Source: DIN VDE 0701-0702:2008-06, read in a test instrument manual (W3.7).
    """
    within("cord_metres", cord_metres, 0, 200, "m")
    further = max(0, math.ceil((cord_metres - 5) / 7.5))
    return EarthLimit(min(1.0, round(0.3 + 0.1 * further, 1)))


@dataclass(frozen=True, slots=True)
class TouchCurrent:
    """Current through a body network, from the voltage across it."""

    impedance_ohms: float
    milliamps: float


def touch_current(
    volts: float, hertz: float = 50.0, ohms: float = 1500.0, microfarads: float = 0.15
) -> TouchCurrent:
    """Return the r.m.s. current in mA through a resistor with a capacitor across it.

    The default is the network of US service practice, 1.5 kohm with 0.15 uF.
    volts 0..300 V r.m.s., hertz 1..1e6 Hz. ValueError with a sentence.
    Source: consumer-audio service manuals, 0.75 V = 0.5 mA at 60 Hz (W3.1, W3.2).
    """
    within("volts", volts, 0, 300, "V")
    within("hertz", hertz, 1, 1e6, "Hz")
    within("ohms", ohms, 1, 1e6, "ohm")
    within("microfarads", microfarads, 0, 100, "uF")
    impedance = ohms / math.hypot(1.0, 2 * math.pi * hertz * ohms * microfarads * 1e-6)
    return TouchCurrent(impedance, volts / impedance * 1000)
