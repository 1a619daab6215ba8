from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import preferred_values
from shop.bench.electrical.preferred_values import at_least


@given(st.sampled_from(list(preferred_values.SERIES)), st.floats(1e-9, 1e9))
def test_preferred_neighbours_enclose_the_value(series, value):
    found = preferred_values.preferred_value(value, series)
    assert found.below <= value * (1 + 1e-8)
    assert found.above >= value * (1 - 1e-8)
    assert found.nearest in (found.below, found.above)


@given(st.floats(1e-6, 1e9))
def test_a_preferred_value_is_reached_and_not_overshot(value):
    chosen = at_least(value)
    assert value * (1 - 1e-9) <= chosen <= value * 1.6


@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf")])
def test_only_a_number_above_nought_has_neighbours(value):
    with pytest.raises(ValueError, match="it must be a number above 0"):
        at_least(value)
