"""What a page prints can be typed back, whichever sign the shop uses for decimals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.engine.figures import grouped, one_reading, shown
from shop.lib.typed_numbers import number


@pytest.mark.parametrize(
    ("value", "printed"),
    [
        (1.234, "1.2340"),
        (12.5, "12.5"),
        (0.123, "0.123"),
        (1234, "1234"),
        (-1.234, "-1.2340"),
        (60, "60"),
    ],
)
def test_no_point_stands_before_exactly_three_digits(value, printed):
    assert shown(value) == printed


@given(st.floats(-1e9, 1e9, allow_nan=False), st.integers(1, 7), st.sampled_from(["", ".", ","]))
def test_a_number_that_was_printed_is_read_back(value, digits, decimal):
    assert number(shown(value, digits), decimal=decimal) == float(f"{value:.{digits}g}")


@given(st.integers(-(10**12), 10**12), st.sampled_from(["", ".", ","]))
def test_a_grouped_number_is_read_back(value, decimal):
    assert number(grouped(value), decimal=decimal) == value


@given(st.decimals(-999, 999, places=3), st.sampled_from(["", ".", ","]))
def test_three_decimals_are_read_back(value, decimal):
    assert number(one_reading(f"{value:f}"), decimal=decimal) == float(value)
