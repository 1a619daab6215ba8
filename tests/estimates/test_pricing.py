"""What an estimate adds up to, by EN 16931-1 and by properties."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.estimates.pricing import PricedLine, totals
from shop.lib.money import rounded


def line(quantity, price, rate, currency="EUR"):
    return PricedLine(Decimal(quantity), Decimal(price), Decimal(rate), currency)


def test_each_line_is_rounded_half_up_to_the_coin():
    assert line("0.5", "60.25", "20").net == Decimal("30.13")
    assert line("1.5", "0.35", "20").net == Decimal("0.53")
    assert line("0.333", "60", "20").net == Decimal("19.98")


def test_tax_is_reckoned_once_for_each_rate():
    """EN 16931-1, BR-CO-17: the tax of a category is its taxable amount by its rate, rounded.

    Rule text from memory. Three lines of 0.10 at 25 %: 0.075, so 0.08; line by line it were 0.09.
    """
    sums = totals([line("1", "0.10", "25")] * 3, "EUR")
    assert [tax.amount for tax in sums.taxes] == [Decimal("0.08")]
    assert sums.gross == Decimal("0.38")


def test_rates_stand_apart_and_nought_is_a_rate():
    sums = totals([line("1", "100", "19"), line("2", "50", "7"), line("1", "5", "0")], "EUR")
    assert [(tax.rate, tax.amount) for tax in sums.taxes] == [
        (Decimal(0), Decimal("0.00")),
        (Decimal(7), Decimal("7.00")),
        (Decimal(19), Decimal("19.00")),
    ]
    assert sums.net == Decimal("205.00")
    assert sums.gross == Decimal("231.00")


def test_two_currencies_do_not_add_up():
    with pytest.raises(ValueError, match="in GBP; it must be in EUR"):
        totals([line("1", "1", "0", "EUR"), line("1", "1", "0", "GBP")], "EUR")


LINES = st.lists(
    st.builds(
        line,
        st.decimals(0, 1000, places=3),
        st.decimals(0, 10_000, places=4),
        st.sampled_from(["0", "5.5", "7", "19", "20", "25"]),
    ),
    max_size=20,
)


@given(LINES)
def test_the_printed_figures_add_up(lines):
    """EN 16931-1, BR-CO-10, BR-CO-13 and BR-CO-15, rule text from memory."""
    sums = totals(lines, "EUR")
    nothing = Decimal(0)
    assert sums.net == sum((row.net for row in lines), nothing)
    assert sums.net == sum((tax.base for tax in sums.taxes), nothing)
    assert sums.gross == sums.net + sum((tax.amount for tax in sums.taxes), nothing)
    assert sums.gross == rounded(sums.gross, "EUR")


@given(LINES, st.randoms())
def test_the_order_of_lines_changes_nothing(lines, random):
    mixed = list(lines)
    random.shuffle(mixed)
    assert totals(mixed, "EUR") == totals(lines, "EUR")
