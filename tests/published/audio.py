"""Levels, closed forms of distortion, weighting, and recordings made from closed forms."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from shop.bench.audio import distortion, levels, spectrum, tone
from tests.published.checks import C, Check, M, P

PAGES = "published derivations"
CLIP = "closed form of the clipped sine"
ANALYSERS = "SMPTE RP 120 as told in analyser notes"
RATE = 192_000


@cache
def recorded(shape: str, hertz: float = 100.0) -> tone.Tone:
    """A second of a wave, sampled finely, taken apart as a recording would be."""
    place = np.arange(2 * RATE) / RATE
    sine = np.sin(2 * math.pi * hertz * place)
    if shape == "triangle":
        wave = 2 / math.pi * np.arcsin(sine)
    elif shape == "square":
        # To the band limit only: an ideal square folds its highest harmonics back.
        wave = sum(np.sin(2 * math.pi * hertz * n * place) / n for n in range(1, 959, 2))
    else:
        wave = np.clip(sine, -float(shape), float(shape))
    return tone.tone_of(0.5 * wave, RATE, bandwidth_hertz=96_000)


def _a(hertz: float) -> float:
    return 20 * math.log10(float(spectrum.a_weighting(np.array([hertz]))[0]))


CHECKS = [
    Check("W7.1", "square wave, THD_F", PAGES, P, 0.483425847608679, lambda: distortion.thd_of_shape("square").thd_f_percent / 100, 1e-12),
    Check("W7.1", "square wave, THD_R", "algebra", C, 0.43524, lambda: distortion.thd_of_shape("square").thd_r_percent / 100, 1e-4),
    Check("W7.2", "triangle wave, THD_F", PAGES, P, 0.121152926519305, lambda: distortion.thd_of_shape("triangle").thd_f_percent / 100, 1e-12),
    Check("W7.2", "triangle wave, THD_R", "algebra", C, 0.12027, lambda: distortion.thd_of_shape("triangle").thd_r_percent / 100, 1e-4),
    Check("W7.1", "square wave to its 957th harmonic, recorded, THD_F %", PAGES, C, 100 * math.sqrt(sum(1 / n**2 for n in range(3, 959, 2))), lambda: recorded("square").thd_f_percent, 1e-6),
    Check("W7.2", "triangle wave, recorded, THD_F %", PAGES, P, 12.1153, lambda: recorded("triangle").thd_f_percent, 2e-5),
    Check("W7.3", "20 V into 8 ohm, W", "V^2 / R", C, 50.0, lambda: levels.output_power(20, 8).watts),
    Check("W7.3", "28.284 V into 8 ohm, W", "V^2 / R", C, 99.998, lambda: levels.output_power(28.284, 8).watts, 1e-5),
    Check("W7.3", "2.828 V into 8 ohm, W", "V^2 / R", C, 1.0, lambda: levels.output_power(2.828, 8).watts),
    Check("W7.4", "1/8 of 100 W in 8 ohm, V", "sqrt(P R)", C, 10.0, lambda: levels.volts_for(12.5, 8).rms_volts),
    Check("W7.4", "1/3 of 100 W in 8 ohm, V", "sqrt(P R)", C, 16.330, lambda: levels.volts_for(100 / 3, 8).rms_volts, 1e-4),
    Check("W7.4", "250 mW in 8 ohm, V", "sqrt(P R)", C, 1.4142, lambda: levels.volts_for(0.25, 8).rms_volts, 1e-4),
    *(
        Check("W7.5", f"sine clipped at {c} %, THD_F %", CLIP, C, thd, lambda c=c: distortion.clipped_sine(c).thd_f_percent, 2e-4)
        for c, thd in ((90, 4.220), (80, 8.979), (70, 13.759), (50, 23.294), (30, 32.959))
    ),
    *(
        Check("W7.5", f"sine clipped at {c} %, recorded, THD_F %", CLIP, C, thd, lambda c=c: recorded(f"{c / 100}").thd_f_percent, 3e-4)
        for c, thd in ((90, 4.220), (80, 8.979), (70, 13.759), (50, 23.294), (30, 32.959))
    ),
    *(
        Check("W7.6", f"clip level for {thd} %", CLIP, C, c, lambda thd=thd: distortion.clip_level(thd).clip_percent / 100, 2e-5)
        for thd, c in ((0.1, 0.99579), (1, 0.97149), (3, 0.92622), (10, 0.77865))
    ),
    *(
        Check("W7.6", f"overdrive for {thd} %, dB", CLIP, C, db, lambda thd=thd: distortion.clip_level(thd).overdrive_decibels, 1e-2)
        for thd, db in ((0.1, 0.037), (1, 0.251), (3, 0.666), (10, 2.173))
    ),
    Check("W7.7", "fundamental at c = 0.8", CLIP, C, 0.895912, lambda: distortion.clipped_sine(80).fundamental, 1e-6),
    Check("W7.7", "mean square at c = 0.8", CLIP, C, 0.404564, lambda: distortion.clipped_sine(80).mean_square, 2e-6),
    Check("W7.8", "20.00 V free, 19.80 V loaded, ohm", "divider", C, 0.08081, lambda: levels.damping(20, 19.8).source_ohms, 1e-4),
    Check("W7.8", "damping factor", "divider", C, 99.0, lambda: levels.damping(20, 19.8).damping_factor),
    *(
        Check("W7.9", f"damping factor of {z} ohm", "RL / Zout", C, df, lambda z=z: levels.damping(8 + z, 8).damping_factor)
        for z, df in ((0.04, 200.0), (0.1, 80.0))
    ),
    Check("W7.10", "10 V against 10 mV, dB", "20 log", C, 60.0, lambda: levels.decibels(10, 0.01).decibels),
    Check("W7.11", "0.1 %, dB", "measurements page", P, -60.0, lambda: levels.decibels(0.001, 1).decibels),
    Check("percent", "1 %, dB", "measurements page", P, -40.0, lambda: levels.decibels(0.01, 1).decibels),
    Check("W7.12", "two sidebands of 0.1 %, rss %", ANALYSERS, C, 0.1414, lambda: distortion.sidebands(0.1, 0.1).rss_percent),
    Check("W7.12", "the same as modulation index, %", ANALYSERS, C, 0.2, lambda: distortion.sidebands(0.1, 0.1).modulation_index_percent),
    *(
        Check("A curve", f"at {hz:g} Hz, dB", "IEC 61672-1, table, from memory", M, db, lambda hz=hz: _a(hz), at_most=0.06)
        for hz, db in (
            (10 ** 1.5, -39.4), (10 ** 1.8, -26.2), (100, -19.1), (10 ** 2.4, -8.6), (10 ** 2.7, -3.2), (1000, 0.0),
            (10 ** 3.3, 1.2), (10 ** 3.6, 1.0), (10 ** 3.9, -1.1), (10 ** 4.2, -6.6),
        )
    ),
]  # fmt: skip
