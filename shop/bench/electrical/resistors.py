"""Resistors that set a voltage or a current: droppers, dividers, zeners, adjustable regulators."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.electrical.preferred_values import at_least, at_most
from shop.bench.inputs import within


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesResistor:
    """A resistor in series with a lamp, a light-emitting diode or a relay coil."""

    ohms: float
    preferred_ohms: float
    milliamps: float
    watts: float
    rating_watts: float


def series_resistor(
    supply_volts: float, load_volts: float, load_milliamps: float
) -> SeriesResistor:
    """Return the resistor that feeds a part from a higher voltage.

    supply_volts 0.5..2000 V, load_volts 0.1..2000 V across the part (about 2 V a red, 3 V a white or
    blue diode), load_milliamps 0.01..10,000 mA. preferred_ohms is the next higher of E12, milliamps and
    watts what follow with it, the part's voltage taken as it is; rating_watts is twice that (common practice).
    Formula: R = (Vs - V) / I; P = (Vs - V)^2 / R.
    Caution: WARNING. From the mains or a valve's supply the part is live too, and the resistor burns fingers.
    Source: Ohm's law.
    """
    supply = within("supply_volts", supply_volts, 0.5, 2000, "V")
    volts = within("load_volts", load_volts, 0.1, 2000, "V")
    amps = within("load_milliamps", load_milliamps, 0.01, 10_000, "mA") / 1000
    if volts >= supply:
        raise ValueError(
            f"load_volts is {volts:g} V; it must be below supply_volts, which is {supply:g} V."
        )
    ohms = (supply - volts) / amps
    preferred = at_least(ohms, "E12")
    watts = (supply - volts) ** 2 / preferred
    return SeriesResistor(
        ohms=ohms,
        preferred_ohms=preferred,
        milliamps=(supply - volts) / preferred * 1000,
        watts=watts,
        rating_watts=2 * watts,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider:
    """A voltage divider, open and under load."""

    output_volts: float
    open_volts: float
    source_ohms: float
    loss_decibels: float
    upper_watts: float
    lower_watts: float


def divider(
    input_volts: float, upper_ohms: float, lower_ohms: float, load_ohms: float | None = None
) -> Divider:
    """Return what a divider of two resistors gives, with or without something connected.

    input_volts 0.001..5000 V, resistors 0.01..1e9 ohm, load_ohms 0.01..1e12 ohm (10 Mohm for many meters).
    Formula: V = Vin R2' / (R1 + R2'), R2' with the load in parallel; source R1 R2 / (R1 + R2).
    Caution: WARNING. If the lower resistor opens, the whole input stands at the output.
    Source: Ohm's law.
    """
    volts = within("input_volts", input_volts, 0.001, 5000, "V")
    upper = within("upper_ohms", upper_ohms, 0.01, 1e9, "ohm")
    lower = within("lower_ohms", lower_ohms, 0.01, 1e9, "ohm")
    beside = lower
    if load_ohms is not None:
        load = within("load_ohms", load_ohms, 0.01, 1e12, "ohm")
        beside = lower * load / (lower + load)
    output = volts * beside / (upper + beside)
    return Divider(
        output_volts=output,
        open_volts=volts * lower / (upper + lower),
        source_ohms=upper * lower / (upper + lower),
        loss_decibels=20 * math.log10(volts / output),
        upper_watts=(volts - output) ** 2 / upper,
        lower_watts=output**2 / lower,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ZenerResistor:
    """The resistor that feeds a zener, and what both burn at worst."""

    largest_ohms: float
    preferred_ohms: float
    zener_watts: float
    resistor_watts: float
    least_zener_milliamps: float
    verdict: str


def zener_resistor(
    lowest_volts: float,
    highest_volts: float,
    zener_volts: float,
    *,
    load_milliamps: float,
    rated_watts: float,
    idle_milliamps: float = 0.0,
    zener_milliamps: float = 5.0,
) -> ZenerResistor:
    """Return the series resistor of a zener, for the lowest and the highest supply.

    lowest_volts and highest_volts 1..1000 V of the supply, zener_volts 1..500 V; load_milliamps
    0..5000 mA at most and idle_milliamps at least; zener_milliamps 0.1..500 mA that keep it in
    regulation; rated_watts 0.1..50 W of the zener. Verdict: too-hot above half of the rating,
    which is for cool leads (common practice), else within.
    Formula: R = (Vmin - Vz) / (IL + Iz), next lower of E12; Pz = Vz ((Vmax - Vz) / R - ILmin).
    Caution: CAUTION. A load that is pulled off leaves all the current to the zener.
    Source: Ohm's law; textbooks' zener regulator.
    """
    low = within("lowest_volts", lowest_volts, 1, 1000, "V")
    high = within("highest_volts", highest_volts, 1, 1000, "V")
    zener = within("zener_volts", zener_volts, 1, 500, "V")
    load = within("load_milliamps", load_milliamps, 0, 5000, "mA") / 1000
    idle = within("idle_milliamps", idle_milliamps, 0, 5000, "mA") / 1000
    keep = within("zener_milliamps", zener_milliamps, 0.1, 500, "mA") / 1000
    rated = within("rated_watts", rated_watts, 0.1, 50, "W")
    _in_order(low, high, zener, load, idle)
    largest = (low - zener) / (load + keep)
    preferred = at_most(largest, "E12")
    watts = zener * max(0.0, (high - zener) / preferred - idle)
    return ZenerResistor(
        largest_ohms=largest,
        preferred_ohms=preferred,
        zener_watts=watts,
        resistor_watts=(high - zener) ** 2 / preferred,
        least_zener_milliamps=((low - zener) / preferred - load) * 1000,
        verdict="too-hot" if watts > rated / 2 * (1 + 1e-9) else "within",
    )


def _in_order(low: float, high: float, zener: float, load: float, idle: float) -> None:
    if high < low:
        raise ValueError(
            f"highest_volts is {high:g} V; it must be at least lowest_volts, {low:g} V."
        )
    if zener >= low:
        raise ValueError(f"zener_volts is {zener:g} V; it must be below lowest_volts, {low:g} V.")
    if idle > load:
        raise ValueError(
            f"idle_milliamps is {idle * 1000:g} mA; it must be at most load_milliamps,"
            f" {load * 1000:g} mA."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AdjustableRegulator:
    """What an adjustable three-terminal regulator gives, and burns."""

    output_volts: float
    headroom_volts: float
    watts: float
    verdict: str


def adjustable_regulator(
    input_volts: float,
    upper_ohms: float,
    lower_ohms: float,
    load_amps: float,
    *,
    reference_volts: float = 1.25,
    adjust_milliamps: float = 0.05,
    dropout_volts: float = 2.5,
    most_volts: float = 40.0,
) -> AdjustableRegulator:
    """Return the output voltage of an adjustable regulator, and the heat in it.

    input_volts 2..200 V in the valley of the ripple; upper_ohms 10..100,000 ohm between output and
    adjust, lower_ohms 0..1e6 ohm between adjust and ground; load_amps 0..20 A; reference_volts
    0.2..10 V, adjust_milliamps 0..1 mA, dropout_volts 0..5 V and most_volts 5..200 V across it of the data
    sheet. Verdict: drops-out when too little is left across it, too-much when more than it stands,
    else regulates.
    Formula: V = Vref (1 + R2 / R1) + Iadj R2; P = (Vin - V) I.
    Caution: CAUTION. Its tab is the output, not ground: insulate it, then measure tab to sink.
    Source: data sheets of adjustable regulators, from memory.
    """
    supply = within("input_volts", input_volts, 2, 200, "V")
    upper = within("upper_ohms", upper_ohms, 10, 100_000, "ohm")
    lower = within("lower_ohms", lower_ohms, 0, 1e6, "ohm")
    amps = within("load_amps", load_amps, 0, 20, "A")
    reference = within("reference_volts", reference_volts, 0.2, 10, "V")
    adjust = within("adjust_milliamps", adjust_milliamps, 0, 1, "mA") / 1000
    dropout = within("dropout_volts", dropout_volts, 0, 5, "V")
    most = within("most_volts", most_volts, 5, 200, "V")
    output = reference * (1 + lower / upper) + adjust * lower
    left = supply - output
    verdict = "drops-out" if left < dropout * (1 - 1e-9) else "regulates"
    if left > most * (1 + 1e-9):
        verdict = "too-much"
    return AdjustableRegulator(
        output_volts=output,
        headroom_volts=left,
        watts=max(0.0, left) * amps,
        verdict=verdict,
    )
