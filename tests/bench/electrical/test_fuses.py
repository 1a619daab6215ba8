from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import fuses

positive = st.floats(0.1, 1000)


@given(positive, positive, st.floats(1, 1000))
def test_more_current_never_opens_a_fuse_later(one, other, rated):
    low, high = sorted((one, other))
    rated = 0.03 + rated % 19
    slow, quick = fuses.fuse_times(rated, low), fuses.fuse_times(rated, high)
    assert (quick.latest_seconds or math.inf) <= (slow.latest_seconds or math.inf)
    assert (quick.earliest_seconds or 0) <= (slow.earliest_seconds or math.inf)


@pytest.mark.parametrize(
    ("amps", "words"),
    [
        (1.0, "At 1 times its rated current it holds for at least 60 min."),
        (2.1, "At 2.1 times its rated current it opens within 30 min, no sooner than 0.05 s."),
        (4.0, "At 4 times its rated current it opens within 0.3 s, no sooner than 0.01 s."),
        (10.0, "At 10 times its rated current it opens within 0.02 s."),
    ],
)
def test_what_is_said_of_a_quick_fuse(amps, words):
    assert fuses.fuse_times(1, amps, "2").says == words


@pytest.mark.parametrize(
    ("fuse_amps", "verdict", "words"),
    [
        (0.5, "too-small", "0.5 A is below the 1 A that the unit draws: it would blow in use."),
        (1.6, "plausible", "1.6 A is plausible for a unit that draws 1 A."),
        (4.0, "plausible", "4 A is plausible"),
        (16.0, "too-large", "16 A is 16 times what the unit draws: it protects little."),
    ],
)
def test_a_fuse_beside_what_the_unit_draws(fuse_amps, verdict, words):
    """115 V at a power factor of 1 and 115 W: one ampere."""
    judged = fuses.fuse_plausible(fuse_amps, 115, 115, 1.0)
    assert judged.verdict == verdict
    assert words in judged.says
