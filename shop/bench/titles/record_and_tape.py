"""Record and tape."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "speed-error": Words(
        "Speed error",
        "How far tape or record runs off, in percent and as pitch.",
        ("speed_error_percent", "cents"),
        "tape turntable pitch strobe rpm",
    ),
    "equalisation": Words(
        "RIAA and tape equalisation",
        "The playback gain that the standard asks for at a frequency.",
        ("playback_decibels=Playback gain, to 1 kHz",),
        "riaa phono iec nab curve time constant",
    ),
    "equalisation-deviation": Words(
        "Deviation from RIAA or tape curve",
        "How far readings of a playback stage are off it.",
        ("worst_decibels=Furthest off", "worst_hertz=At"),
        "riaa phono iec nab equalisation",
    ),
    "azimuth-angle": Words(
        "Azimuth from the phase of two tracks",
        "Tilt of the head, delay, and what mono loses.",
        ("tilt_arc_minutes=Tilt", "mono_decibels=Mono loses"),
        "head tape cassette",
    ),
    "head-losses": Words(
        "Losses of a tape head",
        "By tilt, gap and distance, at one wavelength.",
        ("total_decibels=Together",),
        "azimuth gap dirt wear wavelength treble",
    ),
    "tape-level": Words(
        "Tape reference level",
        "Where the meter stands with a test tape of another fluxivity.",
        ("test_tape_decibels=Meter with the test tape",),
        "fluxivity nWb/m dolby operating",
    ),
    "tape-bias": Words(
        "Tape bias past the peak",
        "From readings of a high tone at rising bias.",
        ("set_millivolts=Set the bias to", "peak_millivolts=Peak at"),
        "overbias",
    ),
}
