"""Numbers as people type them: what they mean, and what is asked back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.lib.typed_numbers import TypedWrong, number, several


@pytest.mark.parametrize(
    ("typed", "unit", "decimal", "value"),
    [
        ("1200", "V", ".", 1200),
        ("1.2", "V", ".", 1.2),
        ("1,2", "V", ".", 1.2),
        ("1,2", "V", ",", 1.2),
        ("1.234", "V", ".", 1.234),
        ("1,234", "V", ",", 1.234),
        ("0,005", "V", ".", 0.005),
        ("1 200", "V", ".", 1200),
        ("1\u202f200,5", "V", ",", 1200.5),
        ("1'200", "V", ".", 1200),
        ("1\u2019200.5", "V", ".", 1200.5),
        ("1,234,567", "V", ".", 1_234_567),
        ("1.234.567,5", "V", ".", 1_234_567.5),
        ("1,234.5", "V", ",", 1234.5),
        (".5", "V", ".", 0.5),
        ("5.", "V", ".", 5),
        ("1e3", "V", ".", 1000),
        ("-400 V", "V", ".", -400),
        ("\u2212400", "V", ".", -400),
        ("+-68", "V", ".", 68),
        ("+/-68 V", "V", ".", 68),
        ("\u00b168", "V", ".", 68),
        ("22 mV", "mV", ".", 22),
        ("0.022 V", "mV", ".", 22),
        ("22 mV", "V", ".", 0.022),
        ("4k7", "ohm", ".", 4700),
        ("0R22", "ohm", ".", 0.22),
        ("4R7 ohm", "ohm", ".", 4.7),
        ("4.7 k\u03a9", "ohm", ".", 4700),
        ("4,7k\u2126", "ohm", ".", 4700),
        ("10M", "Mohm", ".", 10),
        ("2M2", "Mohm", ".", 2.2),
        ("2 Mohm", "Mohm", ".", 2),
        ("50 mohm", "mohm", ".", 50),
        ("50m", "ohm", ".", 0.05),
        ("500k", "Mohm", ".", 0.5),
        ("100u", "uF", ".", 100),
        ("100 \u00b5F", "uF", ".", 100),
        ("2n2", "uF", ".", 0.0022),
        ("5V1", "V", ".", 5.1),
        ("60 \u00b0C", "C", ".", 60),
        ("29 trials", "trials", ".", 29),
        ("8h", "h", ".", 8),
        ("10 %", "%", ".", 10),
        ("\u0661\u0662\u066b\u0665", "V", ".", 12.5),
        ("\u0967\u0968", "V", ".", 12),
        ("\uff11\uff12", "V", ".", 12),
    ],
)
def test_what_is_typed_is_taken_as_it_is_meant(typed, unit, decimal, value):
    assert number(typed, unit=unit, decimal=decimal) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "decimal", "one", "other"),
    [
        ("1,200", ".", "1200", "1.2"),
        ("1.200", ",", "1200", "1.2"),
        ("1,200", "", "1200", "1.2"),
        ("1.200", "", "1200", "1.2"),
        ("450,000 V", ".", "450000", "450"),
        ("-1,200", ".", "1200", "1.2"),
    ],
)
def test_what_reads_two_ways_is_asked_back_with_both_readings(typed, decimal, one, other):
    with pytest.raises(TypedWrong, match=f"reads two ways: {one} or {other}"):
        number(typed, unit="V", decimal=decimal)


@pytest.mark.parametrize(
    "typed",
    ["", "  ", "nan", "inf", "abc", "1.2.3", "12,34,5", "1,23,456", "--5", "1_000", "0x10", "1e999", "\u221e", "1 2 3", "5 5", "9" * 5000, "4k7k", "k", "1e-30000000"],
)  # fmt: skip
def test_what_is_no_number_is_refused_with_a_short_sentence(typed):
    with pytest.raises(TypedWrong) as caught:
        number(typed, unit="V", decimal=".")
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("typed", "unit"),
    [("12 A", "V"), ("4R7", "V"), ("5V1", "ohm"), ("22 m", "h"), ("10 V", "trials"), ("3 W", "%")],
)
def test_another_unit_is_named(typed, unit):
    with pytest.raises(TypedWrong):
        number(typed, unit=unit, decimal=".")


@pytest.mark.parametrize(
    ("typed", "values"),
    [
        ("12 13.5", [12, 13.5]),
        ("12; 13,5 ;14", [12, 13.5, 14]),
        ("12 V 13 V", [12, 13]),
        ("12", [12]),
        ("", []),
    ],
)
def test_several_values_are_parted_by_blanks_or_semicolons(typed, values):
    assert several(typed, unit="V", decimal=".") == values


def test_a_blank_that_may_group_or_part_is_asked_back():
    with pytest.raises(TypedWrong, match="1200, or 1 and 200"):
        several("1 200", unit="V", decimal=".")
    assert several("1 200; 5", unit="V", decimal=".") == [1200, 5]


@given(st.floats(allow_nan=False, allow_infinity=False, width=32), st.sampled_from([".", ","]))
def test_what_python_prints_reads_back(value, decimal):
    typed = f"{value:.9g}"
    assert number(typed, unit="V", decimal=".") == float(typed)


@given(
    st.text(max_size=60),
    st.sampled_from(["V", "ohm", "uF", "h", ""]),
    st.sampled_from(["", ".", ","]),
)
def test_any_text_is_a_number_or_a_sentence(typed, unit, decimal):
    assert 0 < len(_said(typed, unit, decimal)) < 200


def _said(typed: str, unit: str, decimal: str) -> str:
    try:
        return repr(number(typed, unit=unit, decimal=decimal))
    except TypedWrong as wrong:
        return str(wrong)


@pytest.mark.parametrize(
    ("typed", "unit"),
    [("2 mohm", "Mohm"), ("2m", "Mohm"), ("2m2", "Mohm"), ("50 Mohm", "mohm"), ("1M", "mV")],
)
def test_m_for_m_is_asked_back(typed, unit):
    with pytest.raises(TypedWrong, match=f"m is milli, M is mega, and {unit} is asked"):
        number(typed, unit=unit)
