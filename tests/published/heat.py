"""Dissipation, junctions, sinks, and the fit of a heating curve."""

from __future__ import annotations

from functools import cache

from shop.bench.electrical import heating, thermal
from tests.published.checks import C, Check, M, P

STEGALL = "published heat sink design for a power IC"
CURVE = "single-lump heating"
NIST = "NIST StRD nonlinear regression, {}"

# NIST StRD: y = b1 (1 - exp(-b2 x)), which is a heating curve that starts at nothing.
MISRA1A = (
    [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0],
    [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78],
)  # fmt: skip
BOXBOD = ([1.0, 2.0, 3.0, 5.0, 7.0, 10.0], [109.0, 149.0, 149.0, 191.0, 213.0, 224.0])


@cache
def fitted(name: str) -> heating.Fit:
    return heating.fit(*{"Misra1a": MISRA1A, "BoxBOD": BOXBOD}[name], start_celsius=0.0)


def certified(name: str, values: tuple[float, float, float, float]) -> list[Check]:
    b1, b2, sd, residual = values
    source = NIST.format(name) + " (data and values from memory)"
    return [
        Check(name, "b1 (final value)", source, M, b1, lambda: float(fitted(name).parameters[1]), 1e-7),
        Check(name, "b2 (1 / time constant)", source, M, b2, lambda: 1 / float(fitted(name).parameters[2]), 1e-7),
        Check(name, "standard deviation of b1", source, M, sd, lambda: float(fitted(name).covariance[1, 1] ** 0.5), 1e-5),
        Check(name, "residual standard deviation", source, M, residual, lambda: fitted(name).residual, 1e-6),
    ]  # fmt: skip


def _chain(ambient, watts, case, interface, sink):
    return thermal.junction_temperature(
        ambient_celsius=ambient,
        device_watts=watts,
        case_kelvin_per_watt=case,
        interface_kelvin_per_watt=interface,
        sink_kelvin_per_watt=sink,
    )


def _pair(rail, ohms, watts=None):
    return thermal.class_b_dissipation(rail, ohms, watts)


CHECKS = [
    Check("W5.1", "+-28 V, 68 W, 4 ohm: peak, V", STEGALL, P, 23.3238, lambda: _pair(28, 4, 68).output_peak_volts, 1e-5),
    Check("W5.1", "taken from the supply, W", STEGALL, P, 103.939, lambda: _pair(28, 4, 68).supply_watts, 1e-5),
    Check("W5.1", "dissipated, W", STEGALL, P, 35.9387, lambda: _pair(28, 4, 68).pair_watts, 1e-5),
    Check("W5.1", "sink for 150 C at 25 C, K/W", STEGALL, P, 2.278, lambda: thermal.required_sink(35.9387, 1, 0.2).sink_kelvin_per_watt),
    Check("W5.1", "sink for 150 C at 50 C, K/W", STEGALL, P, 1.5825, lambda: thermal.required_sink(35.9387, 1, 0.2, ambient_celsius=50).sink_kelvin_per_watt, 1e-4),
    Check("W5.2", "sink temperature, C", STEGALL, P, 81.87, lambda: _chain(25, 35.9387, 1, 0.2, 1.58252).sink_celsius, 1e-4),
    Check("W5.2", "case temperature, C", STEGALL, P, 89.06, lambda: _chain(25, 35.9387, 1, 0.2, 1.58252).case_celsius, 1e-4),
    Check("W5.2", "junction temperature, C", STEGALL, P, 125.0, lambda: _chain(25, 35.9387, 1, 0.2, 1.58252).junction_celsius, 1e-4),
    Check("W5.3", "worst case of +-28 V into 4 ohm, W", "2 Vcc^2 / (pi^2 R)", C, 39.718, lambda: _pair(28, 4).worst_pair_watts, 1e-4),
    Check("W5.4", "total-supply form, 56 V, W", "power IC data sheet, eq. 1", C, 39.718, lambda: _pair(56 / 2, 4).worst_pair_watts, 1e-4),
    Check("W5.5", "+-40 V into 8 ohm: worst, W", "power IC data sheet, eq. 1", C, 40.528, lambda: _pair(40, 8).worst_pair_watts, 1e-4),
    Check("W5.5", "at, V peak", "2 Vcc / pi", C, 25.465, lambda: _pair(40, 8).worst_at_peak_volts, 1e-4),
    Check("W5.5", "largest output, W", "Vcc^2 / 2R", C, 100.0, lambda: _pair(40, 8).largest_output_watts),
    Check("W5.6", "+-35 V into 8 ohm, W", "power IC data sheet, eq. 1", C, 31.030, lambda: _pair(35, 8).worst_pair_watts, 1e-4),
    Check("W5.6", "+-35 V into 4 ohm, W", "power IC data sheet, eq. 1", C, 62.059, lambda: _pair(35, 4).worst_pair_watts, 1e-4),
    *(
        Check("W5.7", f"dissipation at {share:.4g} of full power", "ideal class B", C, part,
              lambda share=share: _pair(40, 8, 100 * share).pair_watts / 100, 3e-4)
        for share, part in ((1.0, 0.2732), (0.5, 0.4003), (1 / 3, 0.4018), (1 / 8, 0.3252), (0.1, 0.3026))
    ),
    Check("W5.8", "30 W through 1.0 + 0.2 + 1.2 K/W at 25 C, C", "thermal chain", C, 97.0, lambda: _chain(25, 30, 1.0, 0.2, 1.2).junction_celsius),
    Check("W5.9", "TO-220, 5 W, 3 and 1 K/W, 150 C at 50 C, K/W", "textbook example", P, 16.0, lambda: thermal.required_sink(5, 3, 1, 150, 50).sink_kelvin_per_watt),
    Check("W5.10", "1 kg, 0.6 K/W: time constant, s", CURVE, C, 538.0, lambda: thermal.warm_up(40, 0.6, 1, 600).time_constant_s),
    Check("W5.10", "after 600 s at 40 W, C", CURVE, C, 41.1, lambda: thermal.warm_up(40, 0.6, 1, 600).celsius),
    Check("W5.10", "at last, C", CURVE, C, 49.0, lambda: thermal.warm_up(40, 0.6, 1, 600).final_celsius),
    Check("W5.11", "25, 40, 49 C: final, C", "algebra", C, 62.5, lambda: heating.three_readings(25, 40, 49, 10).final_celsius),
    Check("W5.11", "time constant in steps", "algebra", C, 1.958, lambda: heating.three_readings(25, 40, 49, 1).time_constant_minutes),
    *(
        Check("W5.12", f"share of the rise after {n:g} time constants", "1 - exp(-t/tau)", C, share,
              lambda n=n: thermal.warm_up(10, 1, 1, 897 * n).share_percent / 100, 1e-3)
        for n, share in ((0.1, 0.0952), (0.5, 0.3935), (1, 0.6321), (3, 0.9502), (4, 0.9817), (5, 0.9933))
    ),
    *(
        Check("power IC", f"interface {name}, K/W", "power IC data sheet", P, ohms,
              lambda name=name: thermal.INTERFACE_KELVIN_PER_WATT["power-IC"][name][0])
        for name, ohms in (("bare-dry", 0.5), ("bare-compound", 0.2), ("mica-compound", 0.4), ("pad-dry", 0.5))
    ),
    *certified("Misra1a", (2.3894212918e02, 5.5015643181e-04, 2.7070075241e00, 1.0187876330e-01)),
    *certified("BoxBOD", (2.1380940889e02, 5.4723748542e-01, 1.2354515176e01, 1.7088072423e01)),
]  # fmt: skip
