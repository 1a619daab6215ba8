"""Quiescent currents: emitter resistors and valves."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.inputs import within

OPTIMUM_MILLIVOLTS = 26.0  # kT/q at room temperature, across the whole emitter path


@dataclass(frozen=True, slots=True)
class EmitterBias:
    """Quiescent current through an emitter resistor, and the power it burns at idle."""

    milliamps: float
    idle_watts: float | None


def emitter_bias(
    millivolts: float,
    emitter_ohms: float,
    internal_ohms: float = 0.0,
    rail_total_volts: float | None = None,
) -> EmitterBias:
    """Return the quiescent current from the voltage across the emitter path.

    `rail_total_volts` is from rail to rail, for the idle power of one pair. millivolts 0..1000 mV,
    emitter_ohms 0.01..10 ohm, internal_ohms 0..10 ohm. ValueError with a sentence.
    Formula: I = V / (RE + R'); P = I Vtotal.
    Caution: WARNING. Clip the meter on with the power off; a slipped probe takes the output stage.
    Source: I = V/R; 26 mV optimum from B. Oliver, HP Journal, February 1971 (W6.6 to W6.8).
    """
    within("millivolts", millivolts, 0, 1000, "mV")
    within("emitter_ohms", emitter_ohms, 0.01, 10, "ohm")
    within("internal_ohms", internal_ohms, 0, 10, "ohm")
    current = millivolts / (emitter_ohms + internal_ohms)
    return EmitterBias(current, _idle_watts(current, rail_total_volts))


def _idle_watts(milliamps: float, rail_total_volts: float | None) -> float | None:
    """Return what one pair burns at idle between its rails, 1..500 V; None when not known."""
    if rail_total_volts is None:
        return None
    return milliamps * 1e-3 * within("rail_total_volts", rail_total_volts, 1, 500, "V")


@dataclass(frozen=True, slots=True, kw_only=True)
class BiasTarget:
    """What to set: the current, and what the meter across the resistor shows then."""

    milliamps: float
    reading_millivolts: float
    lowest_millivolts: float
    highest_millivolts: float
    idle_watts: float | None


def bias_target(
    emitter_ohms: float,
    internal_ohms: float = 0.0,
    target_millivolts: float = OPTIMUM_MILLIVOLTS,
    tolerance_percent: float = 10.0,
    rail_total_volts: float | None = None,
) -> BiasTarget:
    """Return the quiescent current to set: by the service data's millivolts, or 26 mV without.

    emitter_ohms 0.01..10 ohm, internal_ohms 0..10 ohm (re' and rb/hFE), target_millivolts across
    the whole path 1..1000 mV, tolerance 0..50 %, rail_total_volts from rail to rail. The external
    resistor alone shows less than the target where internal resistance is counted. 26 mV is for
    class AB; a class A stage idles at several hundred.
    Formula: Iq = 26 mV / (RE + re' + rb/hFE); reading = Iq RE.
    Caution: WARNING. Service data comes first. Start at the least current; set it warm, dummy load off.
    Source: B. Oliver, HP Journal, February 1971 (W6.6, W6.7).
    """
    external = within("emitter_ohms", emitter_ohms, 0.01, 10, "ohm")
    inner = within("internal_ohms", internal_ohms, 0, 10, "ohm")
    target = within("target_millivolts", target_millivolts, 1, 1000, "mV")
    share = within("tolerance_percent", tolerance_percent, 0, 50, "%") / 100
    current = target / (external + inner)
    shown = current * external
    return BiasTarget(
        milliamps=current,
        reading_millivolts=shown,
        lowest_millivolts=shown * (1 - share),
        highest_millivolts=shown * (1 + share),
        idle_watts=_idle_watts(current, rail_total_volts),
    )


@dataclass(frozen=True, slots=True)
class ValveIdle:
    """Plate current that gives the wanted share of the rated plate dissipation."""

    plate_watts: float
    milliamps: float


def valve_idle(plate_volts: float, rated_watts: float, share_percent: float = 70.0) -> ValveIdle:
    """Return the plate current for a share of the rated dissipation.

    plate_volts 50..2000 V from plate to cathode, rated_watts 1..500 W of the valve's data sheet,
    share 10..100 %: 70 % for fixed bias in push-pull, up to 100 % for cathode bias and
    single-ended class A. The screen current comes on top at the cathode.
    Formula: P = share Wa; I = P / Va.
    Caution: DANGER. The plate supply is lethal. Negative bias must stand before the plate supply comes on.
    Source: published 70 % rule (W6.1 to W6.5); cathode bias up to its rating: common practice. ValueError with a sentence.
    """
    within("plate_volts", plate_volts, 50, 2000, "V")
    within("rated_watts", rated_watts, 1, 500, "W")
    watts = rated_watts * within("share_percent", share_percent, 10, 100, "%") / 100
    return ValveIdle(watts, watts / plate_volts * 1000)


@dataclass(frozen=True, slots=True)
class PlateDissipation:
    """What a valve burns as measured, against its rating."""

    plate_milliamps: float
    plate_watts: float
    share_percent: float
    verdict: str


def plate_dissipation(
    plate_volts: float,
    cathode_milliamps: float,
    rated_watts: float,
    screen_percent: float = 0.0,
    single_ended: bool = False,
    cathode_bias: bool = False,
) -> PlateDissipation:
    """Return the plate dissipation from the cathode current as read.

    plate_volts 50..2000 V (plate to cathode), cathode_milliamps 0..2000 mA (1 mV across 1 ohm is
    1 mA), rated_watts 1..500 W, screen_percent 0..30 % of the cathode current (5 to 10 % is
    common practice where it was not measured). Verdict: cold below half (common practice), hot above
    70 % in fixed-bias push-pull, or above 100 % with cathode bias or in a single-ended class A
    stage, else right.
    Formula: Wa = Va Ik (1 - screen share).
    Caution: DANGER. Lethal voltages at the sockets; meter clipped on with the power off.
    Source: published 70 % rule and W6.1; cathode bias: common practice; a meter in the plate lead reads low.
    """
    volts = within("plate_volts", plate_volts, 50, 2000, "V")
    cathode = within("cathode_milliamps", cathode_milliamps, 0, 2000, "mA")
    rated = within("rated_watts", rated_watts, 1, 500, "W")
    plate = cathode * (1 - within("screen_percent", screen_percent, 0, 30, "%") / 100)
    watts = volts * plate * 1e-3
    share = watts / rated * 100
    highest = 100.0 if single_ended or cathode_bias else 70.0
    verdict = "hot" if share > highest * (1 + 1e-9) else "cold" if share < 50 else "right"
    return PlateDissipation(plate, watts, share, verdict)


@dataclass(frozen=True, slots=True)
class ClassAIdle:
    """What a class A stage must carry at idle."""

    rms_amps: float
    peak_amps: float
    idle_watts: float


def class_a_idle(output_watts: float, load_ohms: float, supply_volts: float) -> ClassAIdle:
    """Return the load current of a class A stage, and the idle power if it stands at the peak.

    output_watts 0.01..500 W, load_ohms 1..1000 ohm, supply_volts 1..500 V rail to rail.
    Real stages idle from half the peak current (push-pull) to somewhat above it (single-ended).
    Formula: Irms = sqrt(P/R); Ipk = sqrt(2) Irms; Pidle = Ipk Vs.
    Caution: CAUTION. Sinks of class A stages run hot enough to burn.
    Source: published class-A check (W6.9).
    """
    watts = within("output_watts", output_watts, 0.01, 500, "W")
    ohms = within("load_ohms", load_ohms, 1, 1000, "ohm")
    rms = math.sqrt(watts / ohms)
    peak = rms * math.sqrt(2)
    return ClassAIdle(rms, peak, peak * within("supply_volts", supply_volts, 1, 500, "V"))
