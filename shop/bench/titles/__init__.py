"""What each calculation is called, what it gives, and which of its figures comes first.

The keys are the names of `registry.py`, which programs use and which stay. The words are those of
the trade, a module for each subject. `tests/bench/test_titles.py` holds that each has its words.
"""

from __future__ import annotations

from shop.bench.titles import (
    audio,
    circuits,
    energy,
    heat,
    markings,
    measuring,
    parts,
    record_and_tape,
    recordings,
    safety_tests,
    shop,
    stages,
)
from shop.bench.titles.words import Words

__all__ = ["WORDS", "Words"]

WORDS: dict[str, Words] = {
    **energy.WORDS,
    **heat.WORDS,
    **stages.WORDS,
    **parts.WORDS,
    **markings.WORDS,
    **circuits.WORDS,
    **safety_tests.WORDS,
    **measuring.WORDS,
    **audio.WORDS,
    **record_and_tape.WORDS,
    **recordings.WORDS,
    **shop.WORDS,
}
