"""Audio."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "output-power": Words(
        "Output power",
        "Power in a load from the voltage across it.",
        ("watts=Output power",),
        "watt dummy load rms",
    ),
    "volts-for": Words(
        "Voltage for a power",
        "The voltage across a load at a power.",
        ("rms_volts=Voltage, r.m.s.",),
        "output watt dummy load",
    ),
    "distortion-power": Words(
        "Power at a stated distortion",
        "From readings of voltage and THD about clipping.",
        ("watts=Output power", "rms_volts"),
        "clipping thd rated",
    ),
    "gain": Words(
        "Gain and sensitivity",
        "From the voltages at input and output.",
        ("gain_decibels", "sensitivity_millivolts=Sensitivity"),
        "amplifier input rated",
    ),
    "slew-rate": Words(
        "Slew rate",
        "What a full sine needs, and what a measured slope is enough for.",
        ("needed_volts_per_microsecond=Needed", "full_power_hertz=Full power up to"),
        "full power bandwidth step rise",
    ),
    "damping": Words(
        "Damping factor",
        "And source resistance, from the output with and without load.",
        ("damping_factor", "source_ohms"),
    ),
    "decibels": Words(
        "Ratio in decibels",
        "Of two voltages: gain, separation, residue.",
        ("decibels=Ratio",),
        "db level",
    ),
    "level-units": Words(
        "dBu, dBV, dBm and volts",
        "One level in all its units.",
        ("rms_volts", "level_dbu", "level_dbv"),
        "decibel milliwatt",
    ),
    "clipped-sine": Words(
        "Distortion of a clipped sine",
        "THD when both halves are clipped alike.",
        ("thd_f_percent", "thd_r_percent"),
        "thd clipping overdrive",
    ),
    "clip-level": Words(
        "Clipping from the distortion",
        "How far a sine is clipped that measures this THD.",
        ("clip_percent", "overdrive_decibels"),
        "thd clipping",
    ),
    "thd-of-shape": Words(
        "THD of a square or triangle wave",
        "The ideal wave at unlimited bandwidth.",
        ("thd_f_percent", "thd_r_percent"),
        "distortion",
    ),
    "thd-by-total": Words(
        "THD: from F to R",
        "As a notch analyser reads it, from THD by the fundamental.",
        ("thd_r_percent",),
        "distortion total",
    ),
    "sidebands": Words(
        "Sidebands and intermodulation",
        "Two sidebands as root of squares and as modulation index.",
        ("rss_percent", "modulation_index_percent"),
        "imd wow flutter",
    ),
    "full-scale": Words(
        "Full scale of a recording in volts",
        "From a recorded tone of known voltage.",
        ("full_scale_volts",),
        "calibrate wav sound card",
    ),
}
