from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.engine.quoting import LONGEST, quoted


@pytest.mark.parametrize(
    ("value", "quotation"),
    [
        ("mixer", "'mixer'"),
        (60.5, "60.5"),
        (None, "None"),
        (["joint-cracked", 3], "['joint-cracked', 3]"),
        ("a\nb", "'a\\nb'"),
        ([1, 2, 3, 4], "[1, 2, 3, ...]"),
    ],
)
def test_a_value_is_quoted_as_it_was_sent(value, quotation):
    assert quoted(value) == quotation


@pytest.mark.parametrize("sign", [1, -1])
def test_a_number_too_long_to_print_is_told_by_its_digits(sign):
    assert quoted(sign * 10**5000) == "a number of 5\u202f001 digits"


@pytest.mark.parametrize("value", ["x" * 5000, 10**400, b"x" * 5000, {1: {2: {3: {}}}}])
def test_what_is_long_or_deep_is_cut(value):
    quotation = quoted(value)
    assert "..." in quotation
    assert len(quotation) <= LONGEST


def test_a_text_of_the_longest_length_is_whole():
    whole = "x" * (LONGEST - 2)
    assert quoted(whole) == repr(whole)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


@given(JSON)
def test_no_value_makes_more_than_a_line(value):
    quotation = quoted(value)
    assert quotation.isprintable()
    assert len(quotation) < 1000


def test_a_value_that_cannot_be_shown_is_named_by_its_type():
    class Broken:
        def __repr__(self) -> str:
            raise RuntimeError

    assert "Broken" in quoted(Broken())
