"""Protective parts and parts that wear: thermal fuses, NTC, varistors, belts, valves, lamps, rollers."""

from __future__ import annotations

from shop.bench.electrical.part_judges import (
    AC_OR_DC,
    PINOUT,
    Parameter,
    PartClass,
    ac_or_dc,
    band,
    equal,
    ladder,
    pinout,
    reach,
    same,
    under,
)

_THERMAL_FUSE = PartClass(
    name="thermal-fuse",
    title="Thermal fuse",
    parameters=(
        Parameter(name="open_celsius", judge=equal(0.5), low=40, high=300, vital=True),
        Parameter(name="amps", judge=reach(), low=0.1, high=100, vital=True),
        Parameter(name="volts", judge=reach(), low=1, high=1000, vital=True),
        Parameter(name="supply", judge=ac_or_dc, words=AC_OR_DC, vital=True),
        Parameter(name="kind", judge=same, words=("one-shot", "self-resetting"), vital=True),
        Parameter(name="case", judge=same, words=("live", "insulated", "other")),
    ),
    caution="WARNING. Never bridged, never hotter than the old one; crimp or clamp it, soldering heat opens it.",
    source="common practice; IEC 60691 for the ratings, from memory",
)  # fmt: skip

_NTC = PartClass(
    name="ntc",
    title="NTC thermistor",
    parameters=(
        Parameter(name="use", judge=same, words=("inrush", "sensing"), vital=True),
        Parameter(name="cold_ohms", judge=equal(5, 20), low=0.1, high=1e7, vital=True),
        Parameter(name="amps", judge=reach(), low=0.001, high=100, vital=True),
        Parameter(name="beta_kelvin", judge=equal(2, 5), low=1000, high=10_000),
        Parameter(name="joules", judge=reach(), low=0.1, high=10_000),
        Parameter(name="diameter_millimetres", judge=under(), low=1, high=100),
    ),
    caution="CAUTION. In use it is as hot as a lamp: keep leads long and plastic away.",
    source="common practice",
)  # fmt: skip

_VARISTOR = PartClass(
    name="varistor",
    title="Varistor",
    parameters=(
        Parameter(name="continuous_volts", judge=band(1.0, 1.1, 1.25, "it clamps higher"), low=4, high=2000, vital=True),
        Parameter(name="supply", judge=same, words=AC_OR_DC, vital=True),
        Parameter(name="clamp_volts", judge=under(), low=5, high=5000),
        Parameter(name="joules", judge=reach(), low=0.1, high=10_000, vital=True),
        Parameter(name="surge_amps", judge=reach(), low=1, high=200_000, vital=True),
        Parameter(name="diameter_millimetres", judge=reach(2, "far larger: see that it fits"), low=3, high=100),
    ),
    caution="WARNING. A varistor ends short-circuited: a fuse, or a thermal one, stays ahead of it.",
    source="common practice; IEC 61643-331 for the ratings, from memory",
)  # fmt: skip

_BELT = PartClass(
    name="belt",
    title="Drive belt",
    parameters=(
        Parameter(name="section", judge=same, words=("square", "flat", "round", "toothed"), vital=True),
        Parameter(name="inner_millimetres", judge=equal(2, 4), low=5, high=2000, vital=True),
        Parameter(name="width_millimetres", judge=equal(8, 20), low=0.3, high=50, vital=True),
        Parameter(name="thickness_millimetres", judge=equal(10, 20), low=0.2, high=20, vital=True),
        Parameter(name="teeth", judge=equal(0.01), low=5, high=1000),
    ),
    caution="NOTICE. Too tight wears the bearings and slows the motor; set the speed anew.",
    source="common practice: 5 % shorter than the path; measure the old one, not its name",
)  # fmt: skip

_VALVE = PartClass(
    name="valve",
    title="Valve",
    parameters=(
        Parameter(name="type", judge=same, words=("the same", "listed equivalent", "other"), vital=True),
        Parameter(name="base", judge=same, words=("octal", "noval", "B7G", "UX4", "loctal", "other"), vital=True),
        Parameter(name="pinout", judge=pinout, words=PINOUT, vital=True),
        Parameter(name="heater_volts", judge=equal(2, 5), low=1, high=120, vital=True),
        Parameter(name="heater_amps", judge=band(0.9, 1.05, 1.2, "more heater current: see what the winding bears"), low=0.05, high=20, vital=True),
        Parameter(name="plate_watts", judge=reach(), low=0.1, high=2000, vital=True),
        Parameter(name="plate_volts", judge=reach(), low=10, high=10_000, vital=True),
        Parameter(name="screen_volts", judge=reach(), low=10, high=2000),
        Parameter(name="heater_to_cathode_volts", judge=reach(), low=10, high=2000),
    ),
    caution="WARNING. Lethal voltages near; new valves get their bias set, each.",
    source="common practice; ratings from both data sheets",
)  # fmt: skip

_LAMP = PartClass(
    name="lamp",
    title="Dial or indicator lamp",
    parameters=(
        Parameter(name="volts", judge=equal(5, 15), low=0.5, high=300, vital=True),
        Parameter(name="milliamps", judge=equal(10, 25), low=0.5, high=5000, vital=True),
        Parameter(name="kind", judge=ladder({"filament": {"LED": "mind polarity and its resistor, and lamps in series"}}), words=("filament", "LED", "neon"), vital=True),
        Parameter(name="base", judge=same, words=("wedge", "bayonet", "screw", "fuse-type", "wire", "other"), vital=True),
    ),
    caution="CAUTION. In some circuits the lamp is a resistor that matters: lamps in series share their current.",
    source="common practice",
)  # fmt: skip

_PINCH_ROLLER = PartClass(
    name="pinch-roller",
    title="Pinch roller",
    parameters=(
        Parameter(name="outer_millimetres", judge=equal(1, 3), low=3, high=100, vital=True),
        Parameter(name="width_millimetres", judge=equal(2, 6), low=1, high=60, vital=True),
        Parameter(name="bore_millimetres", judge=equal(0.5, 1), low=0.5, high=30, vital=True),
        Parameter(name="bearing", judge=same, words=("sleeve", "ball", "other")),
        Parameter(name="hardness_shore", judge=equal(8, 15), low=20, high=100),
    ),
    caution="NOTICE. Check tape path and azimuth after it; a roller out of true pulls the tape to one side.",
    source="common practice",
)  # fmt: skip

CLASSES = (_THERMAL_FUSE, _NTC, _VARISTOR, _BELT, _VALVE, _LAMP, _PINCH_ROLLER)
