"""Quiescent currents: emitter resistors and valves."""

from __future__ import annotations

from dataclasses import dataclass

from shop.bench.inputs import within


@dataclass(frozen=True, slots=True)
class EmitterBias:
    """Quiescent current through an emitter resistor, and the power it burns at idle."""

    milliamps: float
    idle_watts: float | None


def emitter_bias(
    millivolts: float,
    emitter_ohms: float,
    internal_ohms: float = 0.0,
    rail_volts: float | None = None,
) -> EmitterBias:
    """Return the quiescent current in mA from mV across the emitter path in ohm.

    `rail_volts` is rail to rail, for the idle power of one pair. millivolts 0..1000 mV,
    emitter_ohms 0.01..10 ohm. ValueError with a sentence.
    Source: I = V/R; 26 mV optimum from B. Oliver, HP Journal, February 1971 (W6.6 to W6.8).
    """
    within("millivolts", millivolts, 0, 1000, "mV")
    within("emitter_ohms", emitter_ohms, 0.01, 10, "ohm")
    within("internal_ohms", internal_ohms, 0, 10, "ohm")
    current = millivolts / (emitter_ohms + internal_ohms)
    if rail_volts is None:
        return EmitterBias(current, None)
    return EmitterBias(current, current * 1e-3 * within("rail_volts", rail_volts, 1, 500, "V"))


@dataclass(frozen=True, slots=True)
class ValveIdle:
    """Plate current that gives the wanted share of the rated plate dissipation."""

    plate_watts: float
    milliamps: float


def valve_idle(
    plate_volts: float, rated_watts: float = 25.0, share_percent: float = 70.0
) -> ValveIdle:
    """Return the plate current in mA for a share of the rated dissipation.

    plate_volts 50..2000 V, rated_watts 1..500 W (25 W unless given: look it up in the valve's
    data sheet), share 10..100 %. The screen current comes on top at the cathode.
    Source: published 70 % rule (W6.1 to W6.5). ValueError with a sentence.
    """
    within("plate_volts", plate_volts, 50, 2000, "V")
    within("rated_watts", rated_watts, 1, 500, "W")
    watts = rated_watts * within("share_percent", share_percent, 10, 100, "%") / 100
    return ValveIdle(watts, watts / plate_volts * 1000)
