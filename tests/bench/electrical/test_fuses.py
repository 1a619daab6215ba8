from __future__ import annotations

import math

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
