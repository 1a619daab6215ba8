"""Transformers: what is left under load, how warm the winding is, what a rectifier asks of one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, within

COPPER_CELSIUS = 234.5  # where the resistance of copper would end, on a straight line
InsulationClass = Literal["A", "E", "B", "F", "H"]
# Most that resistance may show of a class. It gives the mean of the winding: the hottest spot, for
# which a class is named (105, 120, 130, 155, 180 C), is 5 to 15 K above.
CLASS_CELSIUS = {"A": 100.0, "E": 115.0, "B": 120.0, "F": 140.0, "H": 165.0}
Rectifier = Literal["bridge", "centre-tap", "half-wave"]

# With a reservoir behind it: secondary r.m.s. current for each ampere of d.c., and the diodes that
# the current passes. Bridge and half-wave were read in a transformer maker's notes.
SECONDARY_AMPS: dict[str, float] = {"bridge": 1.8, "centre-tap": 1.2, "half-wave": 2.6}
_DIODES = {"bridge": 2, "centre-tap": 1, "half-wave": 1}
# Windings that carry the current in turn: the rating counts both halves of a centre tap.
_HALVES = {"bridge": 1, "centre-tap": 2, "half-wave": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class TransformerLoad:
    """A transformer as its secondary sees it."""

    turns_ratio: float
    source_ohms: float
    loaded_volts: float
    regulation_percent: float
    volt_amps: float
    copper_watts: float


def transformer_load(
    primary_volts: float,
    secondary_volts: float,
    primary_ohms: float,
    secondary_ohms: float,
    load_amps: float,
) -> TransformerLoad:
    """Return what a transformer gives under a resistive load, from its open voltages and windings.

    primary_volts and secondary_volts 0.5..1000 V r.m.s. read with nothing connected, primary_ohms
    and secondary_ohms 0..100,000 ohm d.c. of the windings (four wires below 1 ohm), load_amps
    0..200 A r.m.s. ValueError with a sentence when the load asks more than it can give.
    Formula: n = Vp / Vs; R = Rs + Rp / n^2; V = Vs - I R; regulation (Vs - V) / V; loss I^2 R.
    Caution: DANGER. Mains voltage stands on the primary and on open ends: insulate all before the plug goes in.
    Source: equivalent circuit of textbooks without leakage and core.
    """
    primary = within("primary_volts", primary_volts, 0.5, 1000, "V")
    secondary = within("secondary_volts", secondary_volts, 0.5, 1000, "V")
    ratio = primary / secondary
    source = within("secondary_ohms", secondary_ohms, 0, 1e5, "ohm") + (
        within("primary_ohms", primary_ohms, 0, 1e5, "ohm") / ratio**2
    )
    amps = within("load_amps", load_amps, 0, 200, "A")
    loaded = secondary - amps * source
    if loaded <= 0:
        raise ValueError(
            f"load_amps is {amps:g} A; through {source:.3g} ohm even a short draws no more than"
            f" {secondary / source:.3g} A."
        )
    return TransformerLoad(
        turns_ratio=ratio,
        source_ohms=source,
        loaded_volts=loaded,
        regulation_percent=(secondary / loaded - 1) * 100,
        volt_amps=loaded * amps,
        copper_watts=amps**2 * source,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingTemperature:
    """A winding's temperature by the resistance of its copper."""

    winding_celsius: float
    rise_kelvin: float
    limit_celsius: float
    verdict: str


def winding_temperature(
    cold_ohms: float,
    hot_ohms: float,
    cold_celsius: float = 20.0,
    ambient_celsius: float | None = None,
    insulation_class: InsulationClass = "A",
) -> WindingTemperature:
    """Return how hot a copper winding is, from its resistance cold and directly after the run.

    cold_ohms and hot_ohms 0.001..1e6 ohm by the same four wires, cold_celsius and ambient_celsius
    -20..60 C (ambient at the end; as cold unless given). insulation_class by IEC 60085; A unless the
    label says more. Resistance gives the mean of the winding, so each class ends 5 to 15 K early: A
    at 100 C, E 115, B 120, F 140, H 165.
    Formula: T = R2 / R1 (234.5 + T1) - 234.5. Verdict: too-hot above what resistance may show of the class, else within.
    Caution: DANGER. Plug out, reservoirs empty, before the meter goes on. Read within half a minute: it cools.
    Source: resistance method of IEC 60034-1 and IEC 62368-1 annex, from memory; limits by resistance of IEC 61558-1, from memory, A, B and F read in a table of machines.
    """
    cold = within("cold_ohms", cold_ohms, 0.001, 1e6, "ohm")
    hot = within("hot_ohms", hot_ohms, 0.001, 1e6, "ohm")
    start = within("cold_celsius", cold_celsius, -20, 60, "C")
    ambient = start
    if ambient_celsius is not None:
        ambient = within("ambient_celsius", ambient_celsius, -20, 60, "C")
    limit = CLASS_CELSIUS[one_of("insulation_class", insulation_class, tuple(CLASS_CELSIUS))]
    if not 0.8 <= hot / cold <= 2.5:
        raise ValueError(
            f"hot_ohms is {hot:g} ohm, {hot / cold:.2g} times cold_ohms; copper below 300 C stays"
            " within 0.8 to 2.5 times: take the same winding."
        )
    winding = hot / cold * (COPPER_CELSIUS + start) - COPPER_CELSIUS
    verdict = "too-hot" if winding > limit else "within"
    return WindingTemperature(
        winding_celsius=winding, rise_kelvin=winding - ambient, limit_celsius=limit, verdict=verdict
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RectifierTransformer:
    """The secondary that feeds a rectifier with a reservoir."""

    secondary_volts: float
    secondary_amps: float
    volt_amps: float


def rectifier_transformer(
    dc_volts: float, dc_amps: float, rectifier: Rectifier = "bridge", diode_volts: float = 1.0
) -> RectifierTransformer:
    """Return the secondary that a rectifier with a reservoir needs under load.

    dc_volts 1..2000 V and dc_amps 0.001..100 A at full load, diode_volts 0..100 V across each diode
    (1 V silicon, 20 to 60 V a rectifier valve). secondary_volts is r.m.s. loaded: of one half with a
    centre tap. Full rail sag is in the transformer, so its open voltage is higher.
    Formula: Vs = (Vdc + diodes) / sqrt(2); Is = Idc times 1.8 bridge, 1.2 centre tap, 2.6 half-wave.
    Caution: CAUTION. The charging pulses heat the winding: a transformer rated in d.c. amperes is too small.
    Source: factors of transformer makers' notes; bridge and half-wave read, centre tap from memory.
    """
    volts = within("dc_volts", dc_volts, 1, 2000, "V")
    amps = within("dc_amps", dc_amps, 0.001, 100, "A")
    kind = one_of("rectifier", rectifier, tuple(SECONDARY_AMPS))
    drop = within("diode_volts", diode_volts, 0, 100, "V") * _DIODES[kind]
    secondary = (volts + drop) / math.sqrt(2)
    current = amps * SECONDARY_AMPS[kind]
    return RectifierTransformer(
        secondary_volts=secondary,
        secondary_amps=current,
        volt_amps=secondary * current * _HALVES[kind],
    )
