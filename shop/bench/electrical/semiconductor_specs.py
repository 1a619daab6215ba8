"""Transistors, diodes, zeners, optocouplers: what counts of each, and which way."""

from __future__ import annotations

from dataclasses import replace

from shop.bench.electrical.part_judges import (
    PINOUT,
    YES_NO,
    Parameter,
    PartClass,
    Spec,
    band,
    equal,
    ladder,
    pinout,
    reach,
    same,
    under,
)

_CASES = ("axial", "SOD", "SMA", "DO-41", "DO-201", "TO-92", "TO-126", "TO-220", "TO-247", "TO-264", "TO-3", "bridge", "DIP", "SMD", "other")  # fmt: skip


def _has_gate(needed: Spec, _: Spec) -> bool:
    return "MOSFET" in str(needed.get("technology", "")) or needed.get("technology") == "IGBT"


_GATE = (
    Parameter(name="gate_limit_volts", judge=reach(), low=1, high=100, vital_when=_has_gate),
    Parameter(name="threshold_volts", judge=band(0.8, 1.25, 1.6, "it opens later: set the idle current anew"), low=0.1, high=20, vital_when=_has_gate),
    Parameter(name="input_picofarads", judge=under(4, "far less capacitance: look for oscillation"), low=1, high=100_000, vital_when=_has_gate),
)  # fmt: skip

_TRANSISTOR = PartClass(
    name="power-transistor",
    title="Power transistor",
    parameters=(
        Parameter(name="technology", judge=same, words=("bipolar", "MOSFET", "lateral-MOSFET", "IGBT", "darlington"), vital=True),
        Parameter(name="polarity", judge=same, words=("NPN", "PNP", "N", "P"), vital=True),
        Parameter(name="limit_volts", judge=reach(), low=1, high=5000, vital=True),
        Parameter(name="limit_amps", judge=reach(), low=0.01, high=1000, vital=True),
        Parameter(name="limit_watts", judge=reach(), low=0.1, high=5000, vital=True),
        Parameter(name="safe_area_amps", judge=reach(), low=0.001, high=1000, vital=True),
        Parameter(name="current_gain", judge=band(0.8, 2.0, 4.0, "more gain: check stability and matching"), low=1, high=100_000),
        Parameter(name="transit_hertz", judge=band(0.7, 3.0, 20.0, "far faster: look for oscillation"), low=1e3, high=1e10),
        Parameter(name="case_kelvin_per_watt", judge=under(), low=0.01, high=100),
        Parameter(name="package", judge=same, words=("TO-3", "TO-220", "TO-247", "TO-264", "TO-126", "other"), vital=True),
        Parameter(name="pinout", judge=same, words=("BCE", "ECB", "CBE", "GDS", "GSD", "other"), vital=True),
        *_GATE,
        Parameter(
            name="insulated_tab",
            judge=ladder({"no": {"yes": "more thermal resistance inside: check the junction"}, "yes": {"no": "it needs an insulator now: test tab to sink"}}),
            words=YES_NO,
        ),
    ),
    caution="WARNING. Replace in pairs, matched; old output types are widely counterfeited: buy where the source is known.",
    source="common practice; safe area at the rail voltage from both data sheets",
)  # fmt: skip

_MOSFET = PartClass(
    name="mosfet",
    title="MOSFET",
    parameters=(
        Parameter(name="polarity", judge=same, words=("N", "P"), vital=True),
        Parameter(name="limit_volts", judge=reach(), low=1, high=5000, vital=True),
        Parameter(name="limit_amps", judge=reach(), low=0.01, high=1000, vital=True),
        Parameter(name="limit_watts", judge=reach(), low=0.1, high=5000, vital=True),
        *(replace(parameter, vital=True, vital_when=None) for parameter in _GATE),
        Parameter(name="on_milliohms", judge=under(), low=0.1, high=1e6),
        Parameter(name="gate_charge_nanocoulombs", judge=under(), low=0.1, high=10_000),
        Parameter(name="safe_area_amps", judge=reach(), low=0.001, high=1000),
        Parameter(name="package", judge=same, words=_CASES, vital=True),
        Parameter(name="pinout", judge=same, words=("GDS", "GSD", "other"), vital=True),
    ),
    caution="WARNING. A switching type is no linear one: in an output stage its safe area for direct current counts.",
    source="common practice; limits from both data sheets",
)  # fmt: skip

_DIODE = PartClass(
    name="diode",
    title="Diode or bridge",
    parameters=(
        Parameter(name="reverse_volts", judge=reach(), low=1, high=50_000, vital=True),
        Parameter(name="amps", judge=reach(), low=0.001, high=1000, vital=True),
        Parameter(name="surge_amps", judge=reach(), low=0.01, high=10_000),
        Parameter(name="forward_volts", judge=under(), low=0.1, high=50),
        Parameter(name="recovery_nanoseconds", judge=under(), low=0, high=1e6),
        Parameter(
            name="technology",
            judge=ladder(
                {
                    "standard": {"fast": "", "ultrafast": ""},
                    "fast": {"ultrafast": "", "schottky": "mind its leakage when hot"},
                    "ultrafast": {"schottky": "mind its leakage when hot"},
                    "schottky": {"ultrafast": "a higher forward drop: check its heat"},
                    "signal": {"fast": "more capacitance"},
                }
            ),
            words=("standard", "fast", "ultrafast", "schottky", "signal", "germanium"), vital=True,
        ),
        Parameter(name="package", judge=same, words=_CASES, vital=True),
    ),
    caution="WARNING. Polarity: a bridge or a diode turned round puts mains into the reservoirs.",
    source="common practice; limits from both data sheets",
)  # fmt: skip

_ZENER = PartClass(
    name="zener",
    title="Zener diode",
    parameters=(
        Parameter(name="zener_volts", judge=equal(2, 5), low=1, high=1000, vital=True),
        Parameter(name="watts", judge=reach(4, "far larger: it regulates less well at little current"), low=0.1, high=100, vital=True),
        Parameter(name="tolerance_percent", judge=under(), low=0.1, high=20, vital=True),
        Parameter(name="test_milliamps", judge=band(0.5, 2, 4, "its voltage is stated at another current"), low=0.01, high=1000),
        Parameter(name="package", judge=same, words=_CASES, vital=True),
    ),
    caution="CAUTION. A zener that guards a gate or a supply is not left out for a try.",
    source="common practice; E24 values of zeners",
)  # fmt: skip

_OPTOCOUPLER = PartClass(
    name="optocoupler",
    title="Optocoupler",
    parameters=(
        Parameter(name="isolation_volts", judge=reach(), low=100, high=20_000, vital=True),
        Parameter(name="insulation", judge=ladder({"basic": {"reinforced": ""}}), words=("basic", "reinforced"), vital=True, decides=True),
        Parameter(name="creepage_millimetres", judge=reach(), low=1, high=50),
        Parameter(name="output", judge=same, words=("transistor", "darlington", "triac", "logic", "photo-MOS"), vital=True),
        Parameter(name="transfer_percent", judge=band(0.8, 1.5, 2.5, "a higher ratio: the loop may be unstable"), low=1, high=10_000, vital=True),
        Parameter(name="collector_volts", judge=reach(), low=1, high=1000),
        Parameter(name="package", judge=same, words=("DIP-4", "DIP-6", "DIP-8", "SMD-4", "SMD-6", "SMD-8", "other"), vital=True),
        Parameter(name="pinout", judge=pinout, words=PINOUT, vital=True),
    ),
    caution="WARNING. It holds mains off the side that people touch: isolation and approval as before, or better.",
    source="common practice; insulation words of IEC 60747-5-5 from memory",
)  # fmt: skip

CLASSES = (_TRANSISTOR, _MOSFET, _DIODE, _ZENER, _OPTOCOUPLER)
