"""Power, load, damping factor and decibels."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.inputs import within


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputPower:
    """Power in a resistive load, with the voltages of the usual fractions of it."""

    watts: float
    rms_amps: float
    peak_volts: float
    eighth_volts: float
    third_volts: float


def output_power(rms_volts: float, load_ohms: float) -> OutputPower:
    """Return the power in a load from the voltage across it.

    rms_volts 0..1000 V, load_ohms 0.1..10,000 ohm. `eighth_volts` and `third_volts` give one
    eighth (preconditioning since 2000) and one third of that power.
    Formula: P = V^2 / R.
    Caution: CAUTION. A dummy load at full power is as hot as a stove plate.
    Source: 16 CFR 432.3(c) for one eighth, read (W7.3, W7.4).
    """
    volts = within("rms_volts", rms_volts, 0, 1000, "V")
    ohms = within("load_ohms", load_ohms, 0.1, 10_000, "ohm")
    return OutputPower(
        watts=volts**2 / ohms,
        rms_amps=volts / ohms,
        peak_volts=volts * math.sqrt(2),
        eighth_volts=volts / math.sqrt(8),
        third_volts=volts / math.sqrt(3),
    )


@dataclass(frozen=True, slots=True)
class VoltsFor:
    """The voltage that makes a power in a load."""

    rms_volts: float
    peak_volts: float


def volts_for(watts: float, load_ohms: float) -> VoltsFor:
    """Return the voltage for a power in a load.

    watts 0..20,000 W, load_ohms 0.1..10,000 ohm.
    Formula: V = sqrt(P R).
    Caution: WARNING. Outputs above 30 V r.m.s. are no longer harmless to touch.
    Source: P = V^2/R (W7.4).
    """
    volts = math.sqrt(
        within("watts", watts, 0, 20_000, "W") * within("load_ohms", load_ohms, 0.1, 10_000, "ohm")
    )
    return VoltsFor(volts, volts * math.sqrt(2))


@dataclass(frozen=True, slots=True)
class Damping:
    """Output resistance and damping factor."""

    source_ohms: float
    damping_factor: float
    lowest_damping_factor: float
    highest_damping_factor: float | None


def damping(
    unloaded_volts: float,
    loaded_volts: float,
    load_ohms: float = 8.0,
    resolution_volts: float = 0.0,
) -> Damping:
    """Return the damping factor from the output with and without load.

    unloaded_volts 0.001..1000 V, loaded_volts below that, load_ohms 0.1..10,000 ohm.
    resolution_volts 0..1 V, the last digit: each reading may be half of it off, which gives the
    lowest and the highest factor; no highest where the two readings could be one.
    Formula: Zout = RL (V0/VL - 1); DF = RL / Zout = VL / (V0 - VL); with V0 - VL a digit more or less.
    Caution: CAUTION. Measure at a level the stage can hold; a valve stage never runs unloaded.
    Source: voltage divider (W7.8, W7.9).
    """
    free = within("unloaded_volts", unloaded_volts, 0.001, 1000, "V")
    loaded = within("loaded_volts", loaded_volts, 0.001, 1000, "V")
    ohms = within("load_ohms", load_ohms, 0.1, 10_000, "ohm")
    if loaded >= free:
        raise ValueError(
            f"loaded_volts is {loaded:g} V; it must be below unloaded_volts, which is {free:g} V."
        )
    source = ohms * (free / loaded - 1)
    half = within("resolution_volts", resolution_volts, 0, 1, "V") / 2
    apart = free - loaded - 2 * half
    return Damping(
        source_ohms=source,
        damping_factor=ohms / source,
        lowest_damping_factor=max(0.0, loaded - half) / (free - loaded + 2 * half),
        highest_damping_factor=(loaded + half) / apart if apart > 1e-9 * free else None,
    )


@dataclass(frozen=True, slots=True)
class Ratio:
    """A ratio in decibels and percent."""

    decibels: float
    percent: float
    power_ratio: float


def decibels(value: float, reference: float) -> Ratio:
    """Return a voltage ratio in dB: separation, residue, gain.

    value and reference 1e-12..1e12 in the same unit.
    Formula: 20 log10(V / Vref).
    Caution: NOTICE. Say what the reference is: rated power, 1 W, or 0.775 V.
    Source: 1 % is -40 dB, read in a measurements page (W7.10, W7.11).
    """
    ratio = within("value", value, 1e-12, 1e12, "") / within(
        "reference", reference, 1e-12, 1e12, ""
    )
    return Ratio(20 * math.log10(ratio), ratio * 100, ratio**2)
