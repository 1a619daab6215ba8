from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.purchasing import lead_times


@given(st.floats(0.1, 1e4), st.floats(1, 9))
def test_a_lognormal_gives_back_what_it_was_made_from(median, factor):
    made = lead_times.lognormal_from_median(median, median * factor)
    assert made.median == pytest.approx(median)
    assert made.percentile(90) == pytest.approx(median * factor, rel=1e-6)
