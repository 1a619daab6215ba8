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


@given(st.sampled_from(fuses.SHEETS), st.floats(0.03, 30), st.floats(0.5, 50), st.floats(0.5, 50))
def test_on_every_sheet_more_current_opens_no_later(sheet, rated, one, other):
    low, high = sorted((one, other))
    slow, quick = (fuses.fuse_times(rated, rated * m, sheet) for m in (low, high))
    assert (quick.latest_seconds or math.inf) <= (slow.latest_seconds or math.inf)
    for found in (slow, quick):
        assert (found.earliest_seconds or 0) < (found.latest_seconds or math.inf)


def test_the_ampere_of_ul_is_not_that_of_iec():
    ul, iec = (fuses.fuse_times(2, 2.8, sheet) for sheet in ("UL-248-14", "2"))
    assert (ul.latest_seconds, iec.latest_seconds) == (3600.0, None)


@pytest.mark.parametrize(("sheet", "amps", "said"), [("1", 12, True), ("1", 10, False), ("UL-248-14", 20, False)])  # fmt: skip
def test_beyond_the_end_of_a_sheet_it_says_so(sheet, amps, said):
    assert ("The sheets end at" in fuses.fuse_times(amps, amps, sheet).says) is said
