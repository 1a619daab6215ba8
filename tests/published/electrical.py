"""Stored energy, discharge, tests after repair, first power, bias."""

from __future__ import annotations

from shop.bench.electrical import bias, discharge, energy, fuses, limiter, safety_tests
from tests.published.checks import C, Check, M, P

IEC62368 = "IEC 62368-1:2018 Table 4, read second-hand"
DECAY = "V(t) = V0 exp(-t/RC), E = C V^2 / 2"
TT = "resistor maker's design tool 4"
VDE = "DIN VDE 0701-0702:2008-06, read in a test instrument manual"
EN50678 = "EN 50678 as told on a test instrument maker's page, read"
NFPA_70E = "NFPA 70E Article 360: 1 J at 100 V, 0.25 J at 400 V, from memory"
MANUALS = "consumer-audio service manuals, read"
SEVENTY = "published 70 % tables for output valves"
HP = "I = V/R; B. Oliver, HP Journal, February 1971"

_ENERGY = [
    Check("W1.1", f"class of {v} V d.c.", IEC62368, C, k, lambda v=v: energy.dc_class(v))
    for v, k in ((55, "ES1"), (60, "ES1"), (61, "ES2"), (120, "ES2"), (121, "ES3"))
] + [
    Check("W1.2", "class of 29 V r.m.s. with 45 V peak", IEC62368, C, "ES2",
          lambda: energy.energy_class(rms_volts=29, peak_volts=45).energy_class),
    Check("W1.2", "class of 29 V r.m.s. with 42 V peak", IEC62368, C, "ES1",
          lambda: energy.energy_class(rms_volts=29, peak_volts=42).energy_class),
    *(
        Check("W1.3", f"{uf} uF at {v} V holds, J", "10 J threshold of a US national laboratory; E = C V^2 / 2",
              C, 10.0, lambda v=v, uf=uf: energy.stored_energy(v, uf).energy_j, 1e-3)
        for v, uf in ((100, 2000), (170, 692.0), (325, 189.3), (400, 125.0), (450, 98.77), (500, 80.0))
    ),
    Check("W1.3", "125.1 uF at 400 V is over the laboratory's figure", "same", C, True,
          lambda: energy.stored_energy(400, 125.1).over_laboratory_figure),
    Check("W1.3", "124.9 uF at 400 V is not", "same", C, False,
          lambda: energy.stored_energy(400, 124.9).over_laboratory_figure),
    *(
        Check("70E 360", f"{uf} uF at {v} V is a shock hazard", NFPA_70E, M, hurts,
              lambda v=v, uf=uf: energy.stored_energy(v, uf).shock_hazard)
        for v, uf, hurts in (
            (450, 90, True), (400, 3.2, True), (400, 3.1, False), (399, 12.7, True), (399, 12.5, False),
            (100, 200, True), (100, 199, False), (99, 10_000, False),
        )
    ),
    Check("PFC", "bus at 230 V with correction to 400 V, V", "the higher of peak and corrected bus", C, 400.0,
          lambda: energy.mains_peak(230, 400).bus_volts),
    Check("PFC", "bus at 230 V without, V", "sqrt(2)", C, 325.27, lambda: energy.mains_peak(230).bus_volts, 1e-4),
    *(
        Check("W1.4", f"charge of {uf} uF at {v} V, uC", "IEC 60335-1 cl. 8.1.4, read second-hand", C, 45.0,
              lambda v=v, uf=uf: energy.stored_energy(v, uf).charge_microcoulombs)
        for v, uf in ((500, 0.090), (1000, 0.045))
    ),
    Check("W1.5", "largest bleeder of 0.47 uF, 373.35 V to 60 V in 2 s, Mohm", DECAY, C, 2.328,
          lambda: discharge.bleeder(373.35, 0.47, 60, 2).largest_ohms / 1e6),
    Check("W1.6", "the same to 34 V in 1 s, Mohm", DECAY, C, 0.888,
          lambda: discharge.bleeder(373.35, 0.47, 34, 1).largest_ohms / 1e6),
    Check("W1.7", "50 V through a body of 1000 ohm, mA", "Ohm's law", C, 50.0,
          lambda: energy.energy_class(rms_volts=50).body_milliamps),
    *(
        Check("W14.1", f"peak of {v} V r.m.s.", "sqrt(2)", C, pk, lambda v=v: energy.mains_peak(v).peak_volts, 1e-4)
        for v, pk in ((230, 325.27), (240, 339.41), (264, 373.35), (120, 169.71))
    ),
    Check("W14.2", "doubler on 120 V", "2 sqrt(2) V", C, 339.41, lambda: energy.mains_peak(120).doubled_volts, 1e-4),
    *(
        Check("W14.3", f"peak of {v} V r.m.s.", "sqrt(2)", C, pk, lambda v=v: energy.mains_peak(v).peak_volts, 1e-4)
        for v, pk in ((85, 120.21), (265, 374.77))
    ),
    Check("W14.5", "120 V winding on 230 V: voltage ratio", "arithmetic", C, 1.917,
          lambda: energy.wrong_mains(120, 230).voltage_ratio),
    Check("W14.5", "120 V winding on 230 V: power ratio", "arithmetic", C, 3.674,
          lambda: energy.wrong_mains(120, 230).power_ratio),
]  # fmt: skip


def _discharge(number, inputs, wanted, source=DECAY, mark=C, rel=1e-3):
    volts, uf, ohms, target = inputs
    says = f"{uf:g} uF, {volts:g} V to {target:g} V through {ohms:g} ohm"
    return [
        Check(number, f"{says}: {name.replace('_', ' ')}", source, mark, value,
              lambda name=name: getattr(discharge.discharge(volts, uf, ohms, target), name), rel)
        for name, value in wanted.items()
    ]  # fmt: skip


_DISCHARGES = [
    *_discharge("W2.1", (1500, 195, 50, 320),
                {"seconds": 0.015062769, "pulse_watts": 45_000.0, "time_constant_s": 0.00975, "energy_j": 219.375},
                TT, P, 1e-7),
    *_discharge("W2.2", (1000, 2, 1e7, 2.5), {"time_constant_s": 20.0, "seconds": 119.8},
                "OpenStax College Physics, ch. 21, problem 71", P),
    *_discharge("W2.3", (75, 10_000, 100, 10),
                {"time_constant_s": 1.0, "seconds": 2.015, "energy_j": 28.125, "pulse_watts": 56.25,
                 "start_amps": 0.75, "left_j": 0.5}),
    *_discharge("W2.4", (400, 330, 2200, 50),
                {"time_constant_s": 0.726, "seconds": 1.510, "energy_j": 26.4, "pulse_watts": 72.73, "left_j": 0.4125}),
    *_discharge("W2.5", (450, 47, 22_000, 50),
                {"time_constant_s": 1.034, "seconds": 2.272, "energy_j": 4.759, "pulse_watts": 9.205}),
    *_discharge("W2.6", (63, 22_000, 47, 10),
                {"time_constant_s": 1.034, "seconds": 1.903, "energy_j": 43.659, "pulse_watts": 84.45, "start_amps": 1.340}),
    *_discharge("W2.7", (500, 100, 10_000, 50),
                {"time_constant_s": 1.0, "seconds": 2.3026, "energy_j": 12.5, "pulse_watts": 25.0}),
    Check("W2.8", "15 % recovery of a 450 V electrolytic, V", "dielectric absorption, from memory", M, 67.5,
          lambda: discharge.discharge(450, 100).recovery_volts),
    Check("W2.8", "its class", IEC62368, C, "ES2",
          lambda: energy.dc_class(discharge.discharge(450, 100).recovery_volts)),
    Check("tau", "mean over the first time constant, share of P0", "(1 - exp(-2)) / 2", C, 0.4323,
          lambda: (lambda d: d.mean_pulse_watts / d.pulse_watts)(discharge.discharge(100, 100, 100))),
]  # fmt: skip

_SAFETY = [
    Check("W3.1", "1.5 kohm with 0.15 uF at 60 Hz, ohm", MANUALS, P, 1494.6,
          lambda: safety_tests.touch_current(0.75, 60).impedance_ohms, 1e-4),
    Check("W3.1", "0.75 V across it, mA", MANUALS, P, 0.5018, lambda: safety_tests.touch_current(0.75, 60).milliamps),
    Check("W3.2", "0.35 V across it, mA", "service manual of a tuner", C, 0.2342,
          lambda: safety_tests.touch_current(0.35, 60).milliamps),
    Check("W3.3", "IEC 60990 network at d.c., ohm", "meter manual, Annex D", P, 2000.0,
          lambda: safety_tests.weighted_touch_current(0.1, 0).network_ohms),
    Check("W3.3", "U2 of 0.35 V, mA", "meter manual, Annex D", P, 0.7,
          lambda: safety_tests.weighted_touch_current(0.35, 0, True).milliamps),
    *(
        Check("W3.4", f"weighting at {hz:g} Hz", "network of IEC 60990 figure 4", C, share,
              lambda hz=hz: safety_tests.weighted_touch_current(0.1, hz).weighting, 6e-3)
        for hz, share in ((50, 0.9974), (1000, 0.5674), (10_000, 0.0687), (20_000, 0.0344))
    ),
    Check("W3.5", "4.7 nF at 230 V 50 Hz, mA", "2 pi f C V", C, 0.3396,
          lambda: safety_tests.y_capacitor_current(4.7).milliamps),
    Check("W3.5", "4.7 nF at 120 V 60 Hz, mA", "2 pi f C V", C, 0.2126,
          lambda: safety_tests.y_capacitor_current(4.7, 120, 60).milliamps),
    Check("W3.6", "9.4 nF on the live side, mA", "2 pi f C V", C, 0.6792,
          lambda: safety_tests.y_capacitor_current(9.4).milliamps),
    Check("W3.6", "it floats: verdict", VDE, C, "fail", lambda: safety_tests.y_capacitor_current(9.4).floating_verdict),
    Check("W3.6", "it is earthed: verdict", VDE, C, "pass", lambda: safety_tests.y_capacitor_current(9.4).earthed_verdict),
    *(
        Check("W3.7", f"earth limit for {m:g} m, ohm", VDE, C, ohms, lambda m=m: safety_tests.earth_limit(m).limit_ohms)
        for m, ohms in ((2, 0.3), (5, 0.3), (5.1, 0.4), (12.5, 0.4), (13, 0.5), (20, 0.5), (60, 1.0))
    ),
    Check("EN 50678", "earth limit for 0 m of 2.5 mm2, the smallest of a single conductor, ohm", EN50678, P, 0.1,
          lambda: safety_tests.earth_limit(0, 2.5).limit_ohms),
    Check("EN 50678", "the largest, ohm", EN50678, P, 1.0, lambda: safety_tests.earth_limit(200, 2.5).limit_ohms),
    Check("EN 50678", "10 m of 2.5 mm2, ohm", "0.1 ohm and rho l / A, from memory", M, 0.1712,
          lambda: safety_tests.earth_limit(10, 2.5).limit_ohms),
    Check("W3.8", "class II at 1.6 Mohm", VDE, C, "fail", lambda: safety_tests.insulation_resistance(1.6, "II").verdict),
    Check("W3.8", "class I at 1.6 Mohm", VDE, C, "pass", lambda: safety_tests.insulation_resistance(1.6, "I").verdict),
    Check("W3.9", "20 A through 0.012 ohm, V", "report form for IEC 62368-1", C, 0.24,
          lambda: safety_tests.earth_bond(0.012).drop_volts),
    Check("W3.9", "against 0.1 ohm", "IEC 62368-1, from memory", M, "pass", lambda: safety_tests.earth_bond(0.012).verdict),
    Check("W10.1", "wrist strap of 36 Mohm", "note on ANSI/ESD S20.20", P, "fail", lambda: safety_tests.static_guard(36).strap_verdict),
    Check("W10.1", "wrist strap of 34 Mohm", "note on ANSI/ESD S20.20", P, "pass", lambda: safety_tests.static_guard(34).strap_verdict),
    Check("W10.2", "mat of 5e9 ohm", "note on ANSI/ESD S20.20", C, "fail", lambda: safety_tests.static_guard(1, 5000).mat_verdict),
    Check("W10.3", "250 V through 1 Mohm, mA", "Ohm's law", C, 0.25,
          lambda: safety_tests.static_guard(1).strap_milliamps_at_250_volts),
]  # fmt: skip

_POWER = [
    Check("W8.1", "100 W lamp at 120 V, A", "encyclopaedia values", P, 0.833, lambda: limiter.lamp_limiter(120, lamp_watts=100).ceiling_amps),
    Check("W8.1", "its hot resistance, ohm", "encyclopaedia values", P, 144.0, lambda: limiter.lamp_limiter(120, lamp_watts=100).hot_ohms),
    Check("W8.1", "its cold resistance at 1/15, ohm (9.5 printed)", "encyclopaedia values", P, 9.6, lambda: limiter.lamp_limiter(120, lamp_watts=100).cold_ohms),
    *(
        Check("W8.2", f"{w} W lamp at 230 V, A", "P / V", C, a, lambda w=w: limiter.lamp_limiter(230, lamp_watts=w).ceiling_amps, 3e-3)
        for w, a in ((40, 0.174), (60, 0.261), (100, 0.435), (150, 0.652))
    ),
    *(
        Check("W8.2", f"{w} W lamp at 230 V, hot, ohm", "V^2 / P", C, r, lambda w=w: limiter.lamp_limiter(230, lamp_watts=w).hot_ohms)
        for w, r in ((40, 1322.5), (60, 881.7), (100, 529.0), (150, 352.7))
    ),
    Check("W8.3", "60 W lamp at 120 V, hot, ohm", "published answer", P, 240.0, lambda: limiter.lamp_limiter(120, lamp_watts=60).hot_ohms),
    Check("W8.4", "T 1 A, sheet 3, at 2.1 A: latest, s", "213 series data sheet", P, 120.0, lambda: fuses.fuse_times(1, 2.1, "3").latest_seconds),
    *(
        Check("sheet 2", f"F 1 A, sheet 2, at {times:g} A: latest, s", "IEC 60127-2 sheet 2, from memory", M, latest,
              lambda times=times: fuses.fuse_times(1, times, "2").latest_seconds)
        for times, latest in ((2.1, 1800.0), (2.75, 2.0), (4.0, 0.3), (10.0, 0.02))
    ),
    Check("W8.5", "T 5 A, sheet 5, at 13.75 A: earliest, s", "215 series data sheet", P, 0.75, lambda: fuses.fuse_times(5, 13.75, "5").earliest_seconds),
    Check("W8.5", "the same: latest, s", "215 series data sheet", P, 80.0, lambda: fuses.fuse_times(5, 13.75, "5").latest_seconds),
    Check("gate", "T 2 A, sheet 3, at 3 A: no sooner than, s", "213 series data sheet", P, 3600.0, lambda: fuses.fuse_times(2, 3, "3").earliest_seconds),
    Check("gate", "T 2 A, sheet 3, at 8 A: latest, s", "213 series data sheet", P, 3.0, lambda: fuses.fuse_times(2, 8, "3").latest_seconds),
    Check("gate", "T 2 A, sheet 3, at 20 A: earliest, s", "213 series data sheet", P, 0.02, lambda: fuses.fuse_times(2, 20, "3").earliest_seconds),
    Check("gate", "T 2 A, sheet 5, at 8 A: earliest, s", "215 series data sheet", P, 0.095, lambda: fuses.fuse_times(2, 8, "5").earliest_seconds),
    Check("W8.6", "25 W lamp at 120 V, A (source: below 0.25)", "lamp note", C, 0.208, lambda: limiter.lamp_limiter(120, lamp_watts=25).ceiling_amps, 3e-3),
]  # fmt: skip

_BIAS = [
    Check("W6.1", "500 V, 35 mA, W", "published valve-bias note", P, 17.5, lambda: bias.plate_dissipation(500, 35, 25).plate_watts),
    Check("W6.1", "share of 25 W, %", "published valve-bias note", P, 70.0, lambda: bias.plate_dissipation(500, 35, 25).share_percent),
    *(
        Check("W6.1", f"a 12 W valve at 300 V and 38 mA, {words}", source, mark, verdict,
              lambda how=how: bias.plate_dissipation(300, 38, 12, **how).verdict)
        for words, how, verdict, source, mark in (
            ("fixed bias in push-pull", {}, "hot", SEVENTY, P),
            ("single-ended", {"single_ended": True}, "right", SEVENTY, P),
            ("cathode bias", {"cathode_bias": True}, "right", "common practice", M),
        )
    ),
    *(
        Check(number, f"{w:g} W valve at {v:g} V, 70 %, mA", SEVENTY, mark, ma, lambda v=v, w=w: bias.valve_idle(v, w).milliamps)
        for number, v, w, ma, mark in (
            ("W6.2", 485, 25, 36.08, P), ("W6.3", 485, 30, 43.30, P), ("W6.4", 400, 14, 24.5, P),
            ("W6.5", 460, 30, 45.65, C), ("W6.5", 450, 25, 38.89, C),
        )
    ),
    *(
        Check("W6.6", f"26 mV across {r} ohm, mA", HP, C, ma, lambda r=r: bias.emitter_bias(26, r).milliamps)
        for r, ma in ((0.22, 118.2), (0.33, 78.8), (0.47, 55.3), (0.1, 260.0))
    ),
    Check("W6.6", "target for 0.22 ohm, mA", HP, C, 118.2, lambda: bias.bias_target(0.22).milliamps),
    Check("W6.7", "0.22 ohm with 0.05 ohm inside, mA", HP, C, 96.3, lambda: bias.bias_target(0.22, 0.05).milliamps),
    Check("W6.8", "10 mV on 0.22 ohm, mA", "I = V/R", C, 45.45, lambda: bias.emitter_bias(10, 0.22).milliamps),
    Check("W6.9", "8 W into 8 ohm, A r.m.s.", "published class A check", P, 1.0, lambda: bias.class_a_idle(8, 8, 24).rms_amps),
    Check("W6.9", "the same, A peak", "published class A check", P, 1.414, lambda: bias.class_a_idle(8, 8, 24).peak_amps),
    Check("W6.9", "idle on 24 V at the peak, W (17 to 48 printed)", "published class A check", C, 33.94, lambda: bias.class_a_idle(8, 8, 24).idle_watts),
]  # fmt: skip

CHECKS = _ENERGY + _DISCHARGES + _SAFETY + _POWER + _BIAS
