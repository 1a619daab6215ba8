"""Output stages, valves, transformers and supplies."""

from __future__ import annotations

import math

import numpy as np

from shop.bench.electrical import matching, reservoirs, safe_area, transformers, valve_stages
from tests.published.checks import C, Check, M, P

JEDEC = "data sheet of a JEDEC type, from memory"
LINE = "class B load line, closed form"
LAW = "exponential law of the base voltage"
VALVES = "valve data handbook, from memory"
RATIO = "n^2 times the load"
TOROID = "transformer maker's notes, read"
LOOPS = "loop equations solved"
RESISTANCE = "IEC 61558-1 table 1, from memory; A, B, F: limiting temperatures by resistance, a table of generators, read"
ROOMS = "(234.5 + T2) / (234.5 + T1)"
MICRO = "textbook of microelectronics, peak rectifier, from memory"


def _stage(phase: float, **more: float) -> safe_area.SafeArea:
    return safe_area.safe_area(40, 8, 1000, phase_degrees=phase, case_celsius=25, **more)


def _peak_at(phase_degrees: float) -> float:
    """Return the highest watts on a fine grid of our own, at +-40 V into 8 ohm."""
    phase = math.radians(phase_degrees)
    angle = np.linspace(0, 2 * math.pi, 20_001)
    return max(
        float(((40 - p * np.sin(angle)) * p / 8 * np.sin(angle - phase)).max())
        for p in np.linspace(0.4, 40, 400)
    )


def _loops(vp: float, vs: float, rp: float, rs: float, amps: float) -> float:
    """Return the loaded secondary voltage: primary loop, ideal ratio, secondary loop as a matrix."""
    n = vp / vs
    # Unknowns: primary current, induced primary volts, secondary volts at the terminals.
    rows = np.array([[rp, 1.0, 0.0], [n, 0.0, 0.0], [0.0, 1 / n, -1.0]])
    return float(np.linalg.solve(rows, np.array([vp, amps, amps * rs]))[2])


def _cathode(volts: float, ohms: float, valves: int = 1) -> float:
    return valve_stages.cathode_bias(volts, ohms, 300, 12, valves=valves).cathode_milliamps


def _load(ratio: float, ohms: float) -> float:
    return valve_stages.reflected_load(ratio, 1, ohms).reflected_ohms


CHECKS = [
    *(
        Check("derating", f"{watts:g} W at 25 C, {limit} C: W/K", JEDEC, M, slope,
              lambda watts=watts, limit=limit: safe_area.derating(watts, 25, limit).slope_watts_per_kelvin, 1e-2)
        for watts, limit, slope in ((115, 200, 0.657), (150, 200, 0.855), (200, 200, 1.15), (75, 150, 0.6), (0.625, 150, 0.005))
    ),
    *(
        Check("derating", f"{watts:g} W, {limit} C: junction to case, K/W", JEDEC, M, inner,
              lambda watts=watts, limit=limit: safe_area.derating(watts, 25, limit).case_kelvin_per_watt, 4e-3)
        for watts, limit, inner in ((115, 200, 1.52), (150, 200, 1.17), (75, 150, 1.67))
    ),
    Check("SOA", "resistive load: highest peak, W", LINE + ": V^2 / (4 R)", C, 50.0, lambda: _stage(0).peak_watts, 1e-4),
    Check("SOA", "reactive load: highest peak, W", LINE + ": 3 sqrt(3) / 4 V^2 / Z", C, 259.81, lambda: _stage(90).peak_watts, 1e-4),
    *(
        Check("SOA", f"load at {phase} degrees: highest peak, W", "fine grid of its own", C, _peak_at(phase),
              lambda phase=phase: _stage(phase).peak_watts, 1e-3)
        for phase in (30, 45, 60)
    ),
    Check("SOA", "resistive load: most heat of the pair, W", LINE + ": 2 V^2 / (pi^2 R)", C, 40.53, lambda: _stage(0).all_pairs_watts, 1e-4),
    Check("SOA", "load at 45 degrees: the same, W", LINE + ": over cos phi", C, 57.32, lambda: _stage(45).all_pairs_watts, 1e-4),
    Check("SOA", "reactive load: the same, W", LINE + ": 2 V^2 / (pi Z)", C, 127.32, lambda: _stage(90).all_pairs_watts, 1e-4),
    Check("SOA", "three pairs: highest peak in each, W", LINE, C, 86.6, lambda: _stage(90, pairs=3).peak_watts, 1e-3),
    Check("share", "26 mV apart, no resistors: larger share of 1 A", LAW + ": 1 / (1 + 1/e)", C, 0.7311, lambda: matching.current_sharing(1, 26, 0).higher_amps, 1e-4),
    Check("share", "26 mV ln 10 apart, no resistors: larger share", LAW + ": ten to one", C, 0.9091, lambda: matching.current_sharing(1, 26 * math.log(10), 0).higher_amps, 1e-4),
    Check("share", "0 mV apart", LAW, C, 0.5, lambda: matching.current_sharing(1, 0, 0.22).higher_amps, 1e-9),
    Check("Ik", "7.3 V across 135 ohm, one small pentode, mA", VALVES, M, 53.5, lambda: _cathode(7.3, 135), 1.2e-2),
    Check("Ik", "10.4 V across 130 ohm, two of them, mA each", VALVES, M, 40.0, lambda: _cathode(10.4, 130, 2), 1e-6),
    Check("Ik", "13.7 V across 170 ohm, one beam tetrode, mA", VALVES, M, 80.4, lambda: _cathode(13.7, 170), 5e-3),
    Check("Ik", "45 V across 750 ohm, one triode, mA", VALVES, M, 60.0, lambda: _cathode(45, 750), 1e-6),
    Check("Ik", "62 V across 780 ohm, two of them, mA each", VALVES, M, 40.0, lambda: _cathode(62, 780, 2), 1e-2),
    Check("Wa", "that pentode at 257 V, W", VALVES, M, 12.0,
          lambda: valve_stages.cathode_bias(7.3, 135, 257.3, 12, screen_percent=10.3).plate_watts, 1.5e-2),
    Check("Ws", "5.5 mA at 250 V, W", "V I", C, 1.375, lambda: valve_stages.screen_dissipation(5.5, 1000, 250, 2).screen_watts, 1e-9),
    *(
        Check("Zp", f"{ratio:g} to 1 with 8 ohm, ohm", RATIO, C, ohms, lambda ratio=ratio: _load(ratio, 8), 3e-3)
        for ratio, ohms in ((25, 5000.0), (31.62, 8000.0), (28.72, 6600.0), (20.92, 3500.0))
    ),
    Check("heater", "117 V, three of 6.3 V and two of 25 V at 0.3 A, ohm", "line-cord resistors of the 1930s, 160 ohm, from memory", M, 160.0,
          lambda: valve_stages.heater_dropper(117, [6.3, 6.3, 6.3, 25, 25], 300).ohms, 5e-3),
    Check("heater", "230 V, chain of 116.6 V at 0.1 A, W", "(V - sum) I", C, 11.34, lambda: valve_stages.heater_dropper(230, [14, 12.6, 14, 45, 31], 100).watts, 1e-6),
    *(
        Check("load", f"{case[0]:g} to {case[1]:g} V, {case[4]:g} A: under load, V", LOOPS, C, _loops(*case),
              lambda case=case: transformers.transformer_load(*case).loaded_volts, 1e-9)
        for case in ((230, 30, 10, 0.3, 2), (120, 6.3, 4, 0.05, 3), (230, 600, 40, 90, 0.2))
    ),
    Check("winding", "20 C to 70 C: resistance 1.19646 times", ROOMS, C, 70.0, lambda: transformers.winding_temperature(1, 1.19646).winding_celsius, 1e-4),
    Check("winding", "25 C, 4.0 to 5.2 ohm", ROOMS, C, 102.85, lambda: transformers.winding_temperature(4, 5.2, 25).winding_celsius, 1e-4),
    *(
        Check("class", f"insulation class {name}, most by resistance, C", RESISTANCE, P if name in "ABF" else M, limit,
              lambda name=name: transformers.winding_temperature(1, 1.1, insulation_class=name).limit_celsius)
        for name, limit in (("A", 100.0), ("E", 115.0), ("B", 120.0), ("F", 140.0), ("H", 165.0))
    ),
    Check("rectifier", "bridge with reservoir: secondary A for 1 A", TOROID, P, 1.8, lambda: transformers.rectifier_transformer(30, 1).secondary_amps),
    Check("rectifier", "half-wave with reservoir: secondary A for 1 A", TOROID, P, 2.6, lambda: transformers.rectifier_transformer(30, 1, "half-wave").secondary_amps),
    Check("rectifier", "centre tap with reservoir: secondary A for 1 A", "transformer makers' notes, from memory", M, 1.2, lambda: transformers.rectifier_transformer(30, 1, "centre-tap").secondary_amps),
    Check("ripple", "half-wave, 60 Hz, 100 V, 10 mA, 83.3 uF: V", MICRO, M, 2.0, lambda: reservoirs.ripple(0.01, 83.3, 100, 60, half_wave=True).ripple_volts, 5e-2),
    Check("ripple", "the same: conduction of 0.2 rad, ms", MICRO, M, 0.5305, lambda: reservoirs.ripple(0.01, 83.3, 100, 60, half_wave=True).conduction_milliseconds, 5e-2),
    Check("ripple", "1 A for 5 V at 50 Hz: uF (the 2000 uF per ampere)", "rule of thumb of handbooks, from memory", M, 2000.0, lambda: reservoirs.reservoir_size(1, 5).microfarads, 1e-9),
    Check("ripple", "the textbook's half-wave: uF", MICRO, M, 83.3, lambda: reservoirs.reservoir_size(0.01, 2, 60, half_wave=True).microfarads, 1e-3),
]  # fmt: skip
