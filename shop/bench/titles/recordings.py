"""Recordings."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "tone": Words(
        "Measure a recorded tone", "Level, THD, THD+N and S/N from a WAV file.", ("thd_n_percent",)
    ),
    "stepped-level": Words(
        "Level at which a unit clips",
        "Distortion at each step of a rising tone, from a WAV file.",
        ("clipping_volts", "clipping_decibels"),
    ),
    "noise": Words(
        "Measure recorded noise",
        "Noise and hum of an idle output from a WAV file.",
        ("noise_decibels",),
    ),
    "separation": Words(
        "Channel separation",
        "From a WAV file with a tone on one channel.",
        ("separation_decibels",),
    ),
    "frequency-response": Words(
        "Frequency response", "From a recorded sweep, multitone or noise.", ("ripple_decibels",)
    ),
    "flutter": Words(
        "Wow, flutter and speed",
        "From a recorded test tone, weighted by AES6 and IEC 60386.",
        ("weighted_flutter_percent", "speed_error_percent"),
    ),
    "intermodulation": Words(
        "Intermodulation of two tones",
        "By IEC 60268-3, SMPTE RP 120 and AES17, from a WAV file.",
        ("intermodulation_percent",),
    ),
    "equalisation-response": Words(
        "Recorded response against a curve",
        "RIAA or tape equalisation from a sweep through the stage.",
        ("worst_decibels", "worst_hertz"),
    ),
    "azimuth": Words(
        "Azimuth of a tape head",
        "From the phase between two tracks of a test tape.",
        ("phase_degrees", "tilt_arc_minutes"),
    ),
}
