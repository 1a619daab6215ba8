"""Emptying a reservoir through a resistor, and what its charge can do until then."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.electrical.energy import dc_class, joules
from shop.bench.electrical.preferred_values import at_least, at_most
from shop.bench.inputs import within

LARGEST_START_AMPS = 0.5  # common practice, as is a time constant of about a second


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge:
    """A discharge through a resistor. `pulse_watts` is the power at the first instant."""

    ohms: float
    time_constant_s: float
    seconds: float
    energy_j: float
    pulse_watts: float
    mean_pulse_watts: float
    start_amps: float
    left_j: float
    recovery_volts: float
    energy_class: str


def discharge(
    volts: float,
    microfarads: float,
    ohms: float | None = None,
    target_volts: float = 10.0,
    meant: bool = False,
) -> Discharge:
    """Return how a reservoir empties through a resistor.

    volts 0.1..5000 V, microfarads 0.001..1e7 uF, ohms 0.1..1e8 ohm; target_volts above 0 V.
    Without `ohms` it proposes an E6 value that starts at 0.5 A or less with a time constant
    near a second (common practice). `mean_pulse_watts` is the mean over the first time
    constant. `recovery_volts` is what dielectric absorption of an aluminium electrolytic may
    bring back, 15 % of `volts` (from memory). More than 1 kJ asks whether it is `meant`.
    ValueError with a sentence when an input is outside its range.
    Formula: V(t) = V0 exp(-t/RC); t = RC ln(V0/Vt); E = C V0^2 / 2; P0 = V0^2 / R.
    Caution: DANGER. Insulated probes, one hand, never a screwdriver; wait a minute and measure again.
    Source: exponential decay of an RC circuit and the energy of a capacitor, textbook physics (W2.1).
    """
    within("volts", volts, 0.1, 5000, "V")
    within("microfarads", microfarads, 0.001, 1e7, "uF")
    within("target_volts", target_volts, 0.01, 5000, "V")
    energy = joules(volts, microfarads, meant)
    farads = microfarads * 1e-6
    chosen = (
        _proposed_ohms(volts, farads) if ohms is None else within("ohms", ohms, 0.1, 1e8, "ohm")
    )
    time_constant = chosen * farads
    return Discharge(
        ohms=chosen,
        time_constant_s=time_constant,
        seconds=time_constant * max(0.0, math.log(volts / target_volts)),
        energy_j=energy,
        pulse_watts=volts**2 / chosen,
        mean_pulse_watts=volts**2 / chosen * (1 - math.exp(-2)) / 2,
        start_amps=volts / chosen,
        left_j=farads * min(volts, target_volts) ** 2 / 2,
        recovery_volts=0.15 * volts,
        energy_class=dc_class(volts),
    )


def _proposed_ohms(volts: float, farads: float) -> float:
    """Return a second's worth of resistance, but never less than keeps the start below 0.5 A."""
    return at_least(max(volts / LARGEST_START_AMPS, min(1.0 / farads, 1e6) * 0.68))


@dataclass(frozen=True, slots=True)
class Bleeder:
    """The largest resistor that empties a capacitor in time, and what it burns all day."""

    largest_ohms: float
    preferred_ohms: float
    continuous_watts: float
    time_constant_s: float


def bleeder(volts: float, microfarads: float, target_volts: float, seconds: float) -> Bleeder:
    """Return the permanent bleeder that brings a capacitor below a voltage in a given time.

    volts 1..10,000 V, microfarads 1e-6..1e6 uF, target_volts below volts, seconds 0.001..1e5 s.
    `preferred_ohms` is the next lower E12 value; `continuous_watts` is burnt in it all day.
    Formula: R = t / (C ln(V0/Vt)); P = V0^2 / R.
    Caution: WARNING. A bleeder fails open unseen: it never replaces discharging and measuring.
    Source: decay law (W1.5, W1.6, W2.2); permanent and switched bleeders in a resistor maker's note.
    """
    within("volts", volts, 1, 10_000, "V")
    within("microfarads", microfarads, 1e-6, 1e6, "uF")
    within("seconds", seconds, 1e-3, 1e5, "s")
    within("target_volts", target_volts, 0.01, volts * 0.999, "V")
    ohms = seconds / (microfarads * 1e-6 * math.log(volts / target_volts))
    fitted = at_most(ohms, "E12")
    return Bleeder(ohms, fitted, volts**2 / fitted, fitted * microfarads * 1e-6)
