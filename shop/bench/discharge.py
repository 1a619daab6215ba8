"""Emptying a reservoir through a resistor, and what its charge can do until then."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.inputs import within
from shop.bench.preferred_values import at_least

LARGEST_START_AMPS = 0.5  # common practice, as is a time constant of about a second


@dataclass(frozen=True, slots=True)
class Discharge:
    """A discharge through a resistor. `pulse_watts` is the power at the first instant."""

    ohms: float
    time_constant_s: float
    seconds: float
    energy_j: float
    pulse_watts: float
    start_amps: float
    left_j: float
    recovery_volts: float
    energy_class: str


def discharge(
    volts: float, microfarads: float, ohms: float | None = None, target_volts: float = 10.0
) -> Discharge:
    """Return how a reservoir empties: V(t) = V0 exp(-t/RC), E = C V0^2 / 2, P0 = V0^2 / R.

    volts 0.1..5000 V, microfarads 0.001..1e6 uF, ohms 0.1..1e8 ohm; target_volts above 0 V.
    Without `ohms` it proposes an E6 value that starts at 0.5 A or less with a time constant
    near a second (common practice). `recovery_volts` is what dielectric absorption of an
    aluminium electrolytic may bring back, 15 % of `volts` (from memory).
    ValueError with a sentence when an input is outside its range.
    Source: decay law and energy as in a resistor maker's design tool (trade reference W2.1).
    """
    within("volts", volts, 0.1, 5000, "V")
    within("microfarads", microfarads, 0.001, 1e6, "uF")
    within("target_volts", target_volts, 0.01, 5000, "V")
    farads = microfarads * 1e-6
    chosen = (
        _proposed_ohms(volts, farads) if ohms is None else within("ohms", ohms, 0.1, 1e8, "ohm")
    )
    time_constant = chosen * farads
    return Discharge(
        ohms=chosen,
        time_constant_s=time_constant,
        seconds=time_constant * max(0.0, math.log(volts / target_volts)),
        energy_j=farads * volts**2 / 2,
        pulse_watts=volts**2 / chosen,
        start_amps=volts / chosen,
        left_j=farads * min(volts, target_volts) ** 2 / 2,
        recovery_volts=0.15 * volts,
        energy_class=dc_class(volts),
    )


def _proposed_ohms(volts: float, farads: float) -> float:
    """Return a second's worth of resistance, but never less than keeps the start below 0.5 A."""
    return at_least(max(volts / LARGEST_START_AMPS, min(1.0 / farads, 1e6) * 0.68))


def dc_class(volts: float) -> str:
    """Return ES1, ES2 or ES3 for a steady direct voltage in V.

    Source: IEC 62368-1:2018 Table 4, 60 V and 120 V (read second-hand); W1.1.
    """
    within("volts", volts, 0, 1e6, "V")
    if volts <= 60:
        return "ES1"
    return "ES2" if volts <= 120 else "ES3"


@dataclass(frozen=True, slots=True)
class StoredEnergy:
    """Energy in a capacitor and the hazard thresholds it passes."""

    energy_j: float
    dc_class: str
    shock_hazard: bool
    burn_hazard: bool


def stored_energy(volts: float, microfarads: float) -> StoredEnergy:
    """Return the energy in J and whether it passes 10 J at 100 V or more, or 100 J below.

    Source: thresholds in use at a US national laboratory (trade reference 1); W1.3.
    """
    within("volts", volts, 0, 1e5, "V")
    within("microfarads", microfarads, 0, 1e7, "uF")
    energy = microfarads * 1e-6 * volts**2 / 2
    # A hair of slack: 200 uF at 316.2 V must not fall on the safe side by rounding.
    shock = volts >= 100 and energy >= 10 * (1 - 1e-9)
    return StoredEnergy(energy, dc_class(volts), shock, volts < 100 and energy > 100)
