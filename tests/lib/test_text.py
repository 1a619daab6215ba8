"""Text and whole numbers as people type them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.lib.text import whole


@given(st.integers(0, 10**18 - 1))
def test_a_whole_number_comes_back(number):
    assert whole(str(number)) == number


@pytest.mark.parametrize(
    "typed", ["", "-1", "+1", "1.5", "1e3", "٣", "²", "1 2", "x", "9" * 19, "9" * 5000]
)
def test_what_is_no_whole_number_or_too_long_is_none(typed):
    assert whole(typed) is None
