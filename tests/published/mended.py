"""Values that a review from outside held against the calculations."""

from __future__ import annotations

from shop.bench.electrical import capacitors, energy, fuses, safety_tests, thermal
from shop.bench.statistics import flow, intermittent
from shop.bench.units import unit_of
from tests.published.checks import C, Check, M

IEC_FUSE = "IEC 60127-2, 32 to 100 mA (published comparison)"
ES = "IEC 62368-1, d.c. and a.c. combined linearly"
FISHER = "Fisher's exact test, hypergeometric sums"


def _life(kelvin: float) -> float:
    return capacitors.electrolytic_life(2000, 85, 65, ripple_kelvin=kelvin).hours


CHECKS = [
    *(
        Check("fuse", f"sheet {sheet}, 100 mA, at {times:g} times: {name}, s", IEC_FUSE, M, want,
              lambda sheet=sheet, times=times, name=name: getattr(fuses.fuse_times(0.1, 0.1 * times, sheet), f"{name}_seconds"))
        for sheet, times, name, want in (
            ("2", 2.75, "earliest", 0.01), ("2", 2.75, "latest", 0.5), ("2", 4, "earliest", 0.003), ("2", 4, "latest", 0.1),
            ("3", 2.75, "earliest", 0.2), ("3", 2.75, "latest", 10.0), ("3", 4, "earliest", 0.04), ("3", 10, "earliest", 0.01),
        )
    ),
    *(
        Check("ES", f"{dc} V d.c. with {rms} V a.c.", ES, M, want, lambda dc=dc, rms=rms: energy.energy_class(dc, rms).energy_class)
        for dc, rms, want in ((55, 28, "ES3"), (40, 9, "ES1"), (40, 11, "ES2"), (30, 14.9, "ES1"), (60, 0, "ES1"), (0, 30, "ES1"), (60, 25.1, "ES3"), (119, 1, "ES3"))
    ),
    Check("strap", "wrist strap of 1 kohm", "ANSI/ESD S1.1, 1 Mohm less 20 %", M, "fail", lambda: safety_tests.static_guard(0.001).strap_verdict),
    Check("strap", "unit of its current", "Ohm's law", C, "mA", lambda: unit_of("strap_milliamps_at_250_volts")),
    Check("leakage", "63 V 10,000 uF: limit below what a short draws, mA", "Ohm's law through 10 kohm, a tenth", C, 0.63,
          lambda: capacitors.reforming(63, 10_000, 20).leakage_limit_milliamps),
    Check("leakage", "450 V 10 uF: 0.03 C V, mA", "IEC 60384-4", M, 0.135, lambda: capacitors.reforming(450, 10, 20).leakage_limit_milliamps),
    Check("ripple", "5 K of ripple is in the rated life: h", "makers' notes on L0 with rated ripple", M, 8000.0, lambda: _life(5)),
    Check("ripple", "15 K of ripple: h", "2^(-10/10) of that", M, 4000.0, lambda: _life(15)),
    Check("capacity", "180 uF on a part of 100 uF", "beyond +50 %", C, "renew", lambda: capacitors.electrolytic_condition(100, 180).verdict),
    Check("mica", "TO-3 mica, dry, K/W", "application note", M, 1.3, lambda: thermal.INTERFACE_KELVIN_PER_WATT["TO-3"]["mica-dry"][1]),
    Check("clean", "never seen, 99 %: clean trials", "ln(0.01) / ln(0.9)", C, 44, lambda: intermittent.clean_trials(0, 10, 0.99).needed),
    Check("clean", "never seen, 90 %: clean trials", "ln(0.1) / ln(0.9)", C, 22, lambda: intermittent.clean_trials(0, 10, 0.9).needed),
    Check("Fisher", "1 of 10, then 2 of 10", FISHER, C, "not-proved", lambda: intermittent.before_after(1, 10, 2, 10).verdict),
    Check("Fisher", "0 of 10, then 9 of 10", FISHER, C, "worse", lambda: intermittent.before_after(0, 10, 9, 10).verdict),
    Check("weeks", "2.9 a week, 29 in ten weeks: %", "arithmetic", C, 100.0, lambda: flow.finish_chance([2.9], 29, 10).chance_percent),
    Check("touch", "1e-320 Hz is d.c.: weighting", "limit of the network at 0 Hz", C, 1.0, lambda: safety_tests.weighted_touch_current(0.1, 1e-320).weighting),
]  # fmt: skip
