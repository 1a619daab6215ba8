"""Accuracy, uncertainty and guard bands; what meters and leads do."""

from __future__ import annotations

import math

from shop.bench.audio import levels
from shop.bench.electrical import contacts, guard_bands, meter_effects, safety_tests, uncertainty
from tests.published.checks import C, Check, M

DVM = "JCGM 100:2008 4.3.7 example 2, voltmeter on its 1 V range, from memory"
DVM_ALL = "JCGM 100:2008 5.1.5, the same voltmeter, from memory"
GAUGE = "JCGM 100:2008 H.1, end-gauge calibration, from memory"
STUDENT = "JCGM 100:2008 table G.2, from memory"
STRING = "NPL Good Practice Guide 11, piece of string, from memory"
MASS = "EA-4/02 example S2, weight of 10 kg, from memory"
DMM = "EA-4/02 example S9, digital multimeter at 100 V, from memory"
ZENER = "JCGM 106:2012 7.4 example 1, breakdown of a Zener diode, from memory"
OIL = "JCGM 106:2012 7.5 example, viscosity of motor oil, from memory"
SPEED = "JCGM 106:2012 8.3.3 example, speed limit of 100 km/h with u = 2 %, from memory"
RISK = "JCGM 106:2012 8.3.2, guard band U = 2 u: at most 2.3 %, from memory"
TABLE = "JCGM 106:2012 table 1, from memory"
BANDS = "x + U against the limit (JCGM 106:2012 8.3.2)"
DIVIDER = "voltage divider"


def _volts():
    return uncertainty.meter_accuracy(
        0.928571, reading_percent=14e-4, range_percent=2e-4, full_range=1
    )


def _together(parts, **more):
    return uncertainty.combined_uncertainty(parts, **more)


def _gauge():
    # Standard, difference, expansion, temperature: u in nm and degrees of freedom.
    return _together([25, 9.7, 2.9, 16.6], degrees=[18, 25.6, 50, 2], confidence=0.99)


def _string():
    # Tape, its last digit, the string not straight, mean of ten: mm.
    return _together([5.0 / 2, 0.5 / math.sqrt(3), 10 / math.sqrt(3), 0.7])


def _speed(kmh):
    return guard_bands.guarded_verdict(kmh, 3.09 * 0.02 * kmh, highest=100, coverage_factor=3.09)


def _zener():
    return guard_bands.guarded_verdict(-5.47, 0.10, highest=-5.40)


CHECKS = [
    Check("JCGM 4.3.7", "half-width of the accuracy, V", DVM, M, 15e-6, lambda: _volts().give_or_take, 1e-6),
    Check("JCGM 4.3.7", "its standard uncertainty, V", DVM, M, 8.7e-6, lambda: _volts().standard_uncertainty, 6e-3),
    Check("JCGM 5.1.5", "with 12 uV of the mean: combined, V", DVM_ALL, M, 15e-6,
          lambda: _together([12e-6, _volts().standard_uncertainty]).standard_uncertainty, 2e-2),
    Check("JCGM H.1", "combined, nm", GAUGE, M, 32, lambda: _gauge().standard_uncertainty, 1.5e-2),
    Check("JCGM H.1", "effective degrees of freedom", GAUGE, M, 16, lambda: _gauge().effective_degrees),
    Check("JCGM H.1", "t for 99 %", GAUGE, M, 2.92, lambda: _gauge().coverage_factor, 1e-3),
    Check("JCGM H.1", "expanded for 99 %, nm", GAUGE, M, 93, lambda: _gauge().expanded_uncertainty, 1e-2),
    Check("JCGM H.1", "difference of the gauges: 5.8, 3.9, 6.7 nm together", GAUGE, M, 9.7,
          lambda: _together([5.8, 3.9, 6.7]).standard_uncertainty, 5e-3),
    Check("JCGM H.1", "its effective degrees of freedom (25.6, cut)", GAUGE, M, 25,
          lambda: _together([5.8, 3.9, 6.7], degrees=[24, 5, 8]).effective_degrees),
    *(
        Check("JCGM G.2", f"t for {level:.2%} and {v or 'no end of'} degrees of freedom", STUDENT, M, t,
              lambda v=v, level=level: _together([1], degrees=[v], confidence=level).coverage_factor, 2e-3)
        for v, level, t in (
            (1, 0.95, 12.71), (2, 0.95, 4.30), (5, 0.95, 2.57), (10, 0.95, 2.23), (20, 0.95, 2.09), (50, 0.95, 2.01),
            (1, 0.99, 63.66), (10, 0.99, 3.17), (16, 0.99, 2.92), (0, 0.95, 1.960), (0, 0.99, 2.576), (0, 0.9545, 2.000),
        )
    ),
    Check("string", "combined, mm", STRING, M, 6.4, lambda: _string().standard_uncertainty, 1e-2),
    Check("string", "what counts most is the third: it is not straight", STRING, M, 3, lambda: _string().largest_is),
    Check("EA S2", "combined of 22.5, 8.95, 14.4, 5.77, 5.77 mg", MASS, M, 29.3,
          lambda: _together([22.5, 8.95, 14.4, 5.77, 5.77]).standard_uncertainty, 5e-3),
    Check("EA S9", "last digit of 0.1 V: u, V", DMM, M, 0.029,
          lambda: uncertainty.meter_accuracy(100.1, resolution=0.1).standard_uncertainty, 1e-2),
    Check("EA S9", "and its 95 %, V", DMM, M, 0.05,
          lambda: uncertainty.meter_accuracy(100.1, resolution=0.1).expanded_uncertainty, 6e-2),
    Check("JCGM 106 7.4", "-5.47 V, u = 0.05 V, at most -5.40 V: chance, %", ZENER, M, 92, lambda: _zener().conformance_percent, 5e-3),
    Check("JCGM 106 7.4", "with the guard band U: verdict", BANDS, C, "too-close", lambda: _zener().verdict),
    Check("JCGM 106 7.4", "and the highest reading that passes, V", BANDS, C, -5.50, lambda: _zener().most_accepted),
    Check("JCGM 106 7.5", "13.6, u = 1.8, 12.5 to 16.3: chance, %", OIL, M, 66,
          lambda: guard_bands.guarded_verdict(13.6, 3.6, highest=16.3, lowest=12.5).conformance_percent, 1e-2),
    Check("JCGM 106 8.3.3", "107 km/h is over the limit beyond doubt", SPEED, M, "fail", lambda: _speed(107).verdict),
    Check("JCGM 106 8.3.3", "106 km/h is not", SPEED, M, "too-close", lambda: _speed(106).verdict),
    Check("JCGM 106 8.3.2", "chance beyond at the edge of acceptance, %", RISK, M, 2.3,
          lambda: 100 - guard_bands.guarded_verdict(8, 2, highest=10).conformance_percent, 2e-2),
    *(
        Check("JCGM 106 t1", f"{z} u below the limit: chance, %", TABLE, M, chance,
              lambda z=z: guard_bands.guarded_verdict(-z, 2, highest=0).conformance_percent, 2e-3)
        for z, chance in ((0.84, 80.0), (1.28, 90.0), (1.64, 95.0), (2.33, 99.0), (3.09, 99.9))
    ),
    *(
        Check("guard", f"{name} {reading} within {off} against {limit}", BANDS, C, want, got)
        for name, reading, off, limit, want, got in (
            ("earth bond", 0.06, 0.02, 0.1, "pass", lambda: safety_tests.earth_bond(0.06, uncertainty_ohms=0.02).verdict),
            ("earth bond", 0.1, 0.01, 0.1, "too-close", lambda: safety_tests.earth_bond(0.1, uncertainty_ohms=0.01).verdict),
            ("earth bond", 0.12, 0.01, 0.1, "fail", lambda: safety_tests.earth_bond(0.12, uncertainty_ohms=0.01).verdict),
            ("insulation", 1.0, 0.05, 1, "too-close", lambda: safety_tests.insulation_resistance(1, "I", uncertainty_megohms=0.05).verdict),
            ("insulation", 1.1, 0.05, 1, "pass", lambda: safety_tests.insulation_resistance(1.1, "I", uncertainty_megohms=0.05).verdict),
            ("touch U2", 0.25, 0.01, 0.25, "too-close", lambda: safety_tests.weighted_touch_current(0.25, 0, uncertainty_volts=0.01).verdict),
            ("touch U2", 0.2, 0.01, 0.25, "pass", lambda: safety_tests.weighted_touch_current(0.2, 0, uncertainty_volts=0.01).verdict),
            ("contact", 49, 2, 50, "too-close", lambda: contacts.contact_resistance(49, uncertainty_millivolts=2).verdict),
        )
    ),
    Check("damping", "20.00 and 19.90 V to 0.01 V: lowest", "19.895 / 0.11", C, 180.86, lambda: levels.damping(20, 19.9, 8, 0.01).lowest_damping_factor, 1e-4),
    Check("damping", "and highest", "19.905 / 0.09", C, 221.17, lambda: levels.damping(20, 19.9, 8, 0.01).highest_damping_factor, 1e-4),
    Check("damping", "20.00 and 19.99 V to 0.01 V: no highest", "the two could be one", C, None, lambda: levels.damping(20, 19.99, 8, 0.01).highest_damping_factor),
    Check("loading", "1 Mohm read by 10 Mohm: off by, %", DIVIDER, C, -9.0909, lambda: meter_effects.meter_loading(-28, 1e6).off_percent, 1e-4),
    Check("loading", "90.9 V there is without the meter, V", DIVIDER, C, 99.99, lambda: meter_effects.meter_loading(90.9, 1e6).true_volts),
    Check("loading", "100 kohm on a 50 V range of 20 kohm/V: off by, %", "20,000 x 50 = 1 Mohm", C, -9.0909, lambda: meter_effects.meter_loading(40, 1e5, 1).off_percent, 1e-4),
    Check("leads", "0.52 ohm with leads of 0.30 ohm, ohm", "arithmetic", C, 0.22, lambda: meter_effects.lead_resistance(0.52, 0.30, 0.01).corrected_ohms),
    Check("leads", "0.29 of the last digit is its standard uncertainty", "JCGM 100:2008 F.2.2.1, from memory", M, 0.29,
          lambda: uncertainty.meter_accuracy(7, resolution=1).standard_uncertainty, 5e-3),
]  # fmt: skip
