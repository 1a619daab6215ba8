"""Electrolytics on the meter, resistors, pads, filters."""

from __future__ import annotations

import cmath
import math

from shop.bench.electrical import capacitor_checks, filters, pads, resistors
from tests.published.checks import C, Check, M, P

SERIES = "a maker's general-purpose series at 120 Hz, read"
LOSS = "tan delta / (2 pi f C)"
BALANCE = "R = (n Vr - V) / dI, published answer"
GUIDE = "capacitor maker's guide, R = (2 Vm - V) / (0.0015 C V), from memory"
OHM = "Ohm's law"
REGULATOR = "data sheet of an adjustable regulator, from memory"
PADS = "pad table for 50 ohm, read"
PADS_1 = "published pad calculator's example, read"
L_PAD = "loudspeaker pad tables, from memory"
COOKBOOK = "crossover formulas after a loudspeaker handbook, read"
COOKBOOK_M = "loudspeaker handbook, from memory"
REACTANCE = "1 / (2 pi R C)"
THREE = "three voltages from a complex divider"

_TAN = (
    (6.3, 0.23), (10, 0.20), (16, 0.16), (25, 0.14), (35, 0.12), (50, 0.10), (63, 0.09),
    (100, 0.08), (160, 0.12), (200, 0.14), (250, 0.17), (350, 0.20), (400, 0.25), (450, 0.25),
)  # fmt: skip
_T_PI_BRIDGED = {
    1: (2.9, 433, 870, 5.8, 6.1, 410), 2: (5.7, 215, 436, 11.6, 12.9, 193), 3: (8.5, 142, 292, 17.6, 20.6, 121),
}  # fmt: skip
# At 1 Hz into 1 ohm the formulas give their constants: low coils, low capacitors, high capacitors, high coils.
_CROSSOVERS = {
    ("Linkwitz-Riley", 4, COOKBOOK, P): ((0.3000, 0.1500), (0.2533, 0.0563), (0.0844, 0.1688), (0.1000, 0.4501)),
    ("Butterworth", 4, COOKBOOK, P): ((0.2437, 0.1723), (0.2509, 0.0609), (0.1040, 0.1470), (0.1009, 0.4159)),
    ("Butterworth", 3, COOKBOOK_M, M): ((0.2387, 0.0796), (0.2122,), (0.1061, 0.3183), (0.1194,)),
    ("Butterworth", 2, COOKBOOK_M, M): ((0.2251,), (0.1125,), (0.1125,), (0.2251,)),
    ("Linkwitz-Riley", 2, COOKBOOK_M, M): ((0.3183,), (0.0796,), (0.0796,), (0.3183,)),
    ("Butterworth", 1, COOKBOOK_M, M): ((0.1592,), (), (0.1592,), ()),
}  # fmt: skip
_BRANCHES = ("low_millihenries", "low_microfarads", "high_microfarads", "high_millihenries")


def _pad(loss: float, ohms: float, shape: str, which: str) -> float:
    return getattr(pads.pad(loss, ohms, shape), f"{which}_ohms")


def _part(alignment: str, order: int, branch: str, place: int) -> float:
    """Return the constant of a formula: our part at 1000 Hz and 10 ohm, taken back to 1 Hz and 1 ohm."""
    value = getattr(filters.crossover(1000, 10, order, alignment), branch)[place]
    return value * 1e-3 * 1000 / 10 if branch.endswith("henries") else value * 1e-6 * 1000 * 10


def _three(ohms: complex, resistor: float) -> tuple[float, float, float]:
    """Return the voltages across load and resistor, and both, at 1 A."""
    return abs(ohms), resistor, abs(ohms + resistor)


def _node(volts: float, *ohms: float) -> float:
    """Return the voltage of the one node: currents in over conductances."""
    return volts / ohms[0] / sum(1 / one for one in ohms)


_LOUDSPEAKER = cmath.rect(7.3, math.radians(38))

CHECKS = [
    *(
        Check("tan", f"largest tan delta at {volts:g} V", SERIES, P, most, lambda volts=volts: capacitor_checks.esr_limit(100, volts).tan_delta, 1e-9)
        for volts, most in _TAN
    ),
    Check("tan", "4700 uF 25 V: 0.02 for each further 1000 uF", SERIES, P, 0.22, lambda: capacitor_checks.esr_limit(4700, 25).tan_delta, 1e-9),
    Check("ESR", "1000 uF 25 V, ohm", LOSS, C, 0.18568, lambda: capacitor_checks.esr_limit(1000, 25).limit_ohms, 1e-4),
    Check("ESR", "47 uF 450 V, ohm", LOSS, C, 7.0546, lambda: capacitor_checks.esr_limit(47, 450).limit_ohms, 1e-4),
    Check("balance", "two of 450 V on 800 V, 1 mA apart, ohm", BALANCE, P, 100_000.0, lambda: capacitor_checks.series_balance(800, 450, 1, resistor_percent=0).largest_ohms, 1e-9),
    Check("balance", "two of 400 V 1000 uF on 700 V, ohm", GUIDE, M, 95_238.0, lambda: capacitor_checks.series_balance(700, 400, 0.0015e-3 * 1000 * 700, resistor_percent=0).largest_ohms, 1e-4),
    Check("dropper", "12 V, a diode of 2 V at 20 mA, ohm", OHM, C, 500.0, lambda: resistors.series_resistor(12, 2, 20).ohms, 1e-9),
    Check("dropper", "its preferred value, E12", "IEC 60063", C, 560.0, lambda: resistors.series_resistor(12, 2, 20).preferred_ohms, 1e-9),
    Check("divider", "12 V over 10 kohm and 2.2 kohm, V", OHM, C, 2.16393, lambda: resistors.divider(12, 10_000, 2_200).open_volts, 1e-5),
    Check("divider", "with 10 kohm across, V", "nodal analysis", C, _node(12, 10_000, 2_200, 10_000), lambda: resistors.divider(12, 10_000, 2_200, 10_000).output_volts, 1e-9),
    Check("regulator", "240 and 720 ohm, V", REGULATOR, M, 5.036, lambda: resistors.adjustable_regulator(12, 240, 720, 0.1).output_volts, 1e-5),
    Check("regulator", "121 ohm and 1.1 kohm, V", REGULATOR, M, 12.67, lambda: resistors.adjustable_regulator(20, 121, 1100, 0.1).output_volts, 1e-3),
    Check("zener", "18 to 24 V, 12 V, 20 mA and 5 mA, ohm", "textbooks' zener regulator", C, 240.0,
          lambda: resistors.zener_resistor(18, 24, 12, load_milliamps=20, rated_watts=2).largest_ohms, 1e-9),
    Check("zener", "its zener with the load off, 220 ohm, W", OHM, C, 0.65455,
          lambda: resistors.zener_resistor(18, 24, 12, load_milliamps=20, rated_watts=2).zener_watts, 1e-4),
    *(
        Check("pad", f"{loss} dB {shape}, {which}, ohm", PADS, P, float(row[place]), lambda loss=loss, shape=shape, which=which: _pad(loss, 50, shape, which), 1.2e-2)
        for loss, row in _T_PI_BRIDGED.items()
        for place, (shape, which) in enumerate(
            (("T", "series"), ("T", "shunt"), ("pi", "shunt"), ("pi", "series"), ("bridged-T", "series"), ("bridged-T", "shunt")))
    ),
    *(
        Check("pad", f"1 dB {shape} of 50 ohm to two places, {which}, ohm", PADS_1, P, want, lambda shape=shape, which=which: _pad(1, 50, shape, which), 2e-3)
        for shape, which, want in (("T", "series", 2.88), ("T", "shunt", 433.34), ("pi", "shunt", 869.55), ("pi", "series", 5.77), ("bridged-T", "series", 6.10), ("bridged-T", "shunt", 409.77))
    ),
    Check("pad", "10 dB T, series, ohm", "electronics textbook on line, read", P, 25.97, lambda: _pad(10, 50, "T", "series"), 2e-4),
    Check("pad", "10 dB T, shunt, ohm", "electronics textbook on line, read", P, 35.14, lambda: _pad(10, 50, "T", "shunt"), 2e-4),
    Check("pad", "15 dB pi of 600 ohm, shunt, ohm", "textbook exercise, read", P, 859.54, lambda: _pad(15, 600, "pi", "shunt"), 1e-4),
    Check("pad", "15 dB pi of 600 ohm, series, ohm", "textbook exercise, read", P, 1633.67, lambda: _pad(15, 600, "pi", "series"), 1e-3),
    *(
        Check("L-pad", f"{loss} dB before 8 ohm, {which}, ohm", L_PAD, M, want, lambda loss=loss, which=which: _pad(loss, 8, "loudspeaker-L", which), 3e-3)
        for loss, which, want in ((3, "series", 2.34), (3, "shunt", 19.4), (6, "series", 3.99), (6, "shunt", 8.04), (10, "series", 5.47), (10, "shunt", 3.70))
    ),
    Check("corner", "10 kohm and 10 nF, Hz", REACTANCE, C, 1591.55, lambda: filters.corner(10_000, 0.01).hertz, 1e-5),
    Check("corner", "75 us: 1 kohm and 75 nF, Hz", "IEC 60098 replay corner, from memory", M, 2122.0, lambda: filters.corner(1000, 0.075).hertz, 1e-4),
    Check("corner", "318 us, Hz", "IEC 60098 replay corner, from memory", M, 500.5, lambda: filters.corner(1000, 0.318).hertz, 1e-4),
    Check("corner", "3180 us, Hz", "IEC 60098 replay corner, from memory", M, 50.05, lambda: filters.corner(1000, 3.18).hertz, 1e-4),
    Check("resonance", "1 mH and 10 uF, Hz", "1 / (2 pi sqrt(L C))", C, 1591.55, lambda: filters.corner(microfarads=10, millihenries=1).hertz, 1e-5),
    *(
        Check("crossover", f"{alignment} {order}, {branch.replace('_', ' ')} {place + 1}: constant", source, mark, want,
              lambda alignment=alignment, order=order, branch=branch, place=place: _part(alignment, order, branch, place), 4e-3)
        for (alignment, order, source, mark), rows in _CROSSOVERS.items()
        for branch, row in zip(_BRANCHES, rows, strict=True)
        for place, want in enumerate(row)
    ),
    Check("Zobel", "6.2 ohm, 0.7 mH: uF", "Le / Re^2", C, 18.21, lambda: filters.zobel(6.2, 0.7).microfarads, 1e-4),
    Check("Zobel", "its resistor in practice, ohm", COOKBOOK_M, M, 7.75, lambda: filters.zobel(6.2, 0.7).practical_ohms, 1e-6),
    Check("snubber", "half the frequency with 300 pF: stray pF", "published snubber design, read: a third", P, 100.0,
          lambda: filters.snubber(20_000, 300, 10_000, 10, 100).stray_picofarads, 1e-9),
    Check("snubber", "its inductance at 20 MHz, uH", "1 / ((2 pi f)^2 C)", C, 0.63326, lambda: filters.snubber(20_000, 300, 10_000, 10, 100).stray_microhenries, 1e-4),
    Check("impedance", "7.3 ohm at 38 degrees: ohm", THREE, C, 7.3, lambda: filters.impedance(*_three(_LOUDSPEAKER, 10)[:2], 10).impedance_ohms, 1e-9),
    Check("impedance", "its phase, degrees", THREE, C, 38.0, lambda: filters.impedance(*_three(_LOUDSPEAKER, 10)[:2], 10, _three(_LOUDSPEAKER, 10)[2]).phase_degrees, 1e-6),
    Check("rated", "6.4 ohm against 8 ohm", "IEC 60268-5, 80 %, from memory", M, "pass", lambda: filters.impedance(6.4, 10, 10, rated_ohms=8).verdict),
    Check("rated", "6.3 ohm against 8 ohm", "IEC 60268-5, 80 %, from memory", M, "below-rated", lambda: filters.impedance(6.3, 10, 10, rated_ohms=8).verdict),
]  # fmt: skip
