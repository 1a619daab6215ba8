"""All checks, in the order of the table."""

from __future__ import annotations

from tests.published import (
    amplifiers,
    audio,
    circuits,
    electrical,
    faults,
    fuses_and_charge,
    heat,
    markings,
    measuring,
    mended,
    moving_media,
    parts,
    record_and_tape,
    stages,
    statistics,
    two_tones,
)
from tests.published.checks import Check

CHECKS: list[Check] = [
    *electrical.CHECKS,
    *parts.CHECKS,
    *heat.CHECKS,
    *audio.CHECKS,
    *moving_media.CHECKS,
    *two_tones.CHECKS,
    *record_and_tape.CHECKS,
    *amplifiers.CHECKS,
    *fuses_and_charge.CHECKS,
    *faults.CHECKS,
    *statistics.CHECKS,
    *mended.CHECKS,
    *measuring.CHECKS,
    *stages.CHECKS,
    *circuits.CHECKS,
    *markings.CHECKS,
]
