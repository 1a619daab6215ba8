"""Amounts: their places, their rounding, and how they read."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shop.lib.money import formatted, formatted_unit_price, rounded


@pytest.mark.parametrize(
    ("currency", "wanted"),
    [("JPY", "1\u202f235 JPY"), ("EUR", "1\u202f234.57 EUR"), ("KWD", "1\u202f234.568 KWD")],
)
def test_a_currency_has_the_places_of_iso_4217(currency, wanted):
    """ISO 4217 minor units: JPY 0, EUR 2, KWD 3."""
    assert formatted(rounded(Decimal("1234.5675"), currency), currency) == wanted


@pytest.mark.parametrize(
    ("amount", "currency", "wanted"),
    [
        ("4", "EUR", "4.00 EUR"),
        ("4.5000", "EUR", "4.50 EUR"),
        ("0.0125", "EUR", "0.0125 EUR"),
        ("1234.5", "EUR", "1\u202f234.50 EUR"),
        ("1200", "JPY", "1\u202f200 JPY"),
        ("0.35", "JPY", "0.35 JPY"),
        ("1.5", "KWD", "1.5000 KWD"),
    ],
)
def test_a_unit_price_shows_its_coins_and_what_is_finer(amount, currency, wanted):
    assert formatted_unit_price(Decimal(amount), currency) == wanted


def test_half_a_coin_goes_up_as_it_does_for_the_other_side():
    assert rounded(Decimal("0.125"), "EUR") == Decimal("0.13")
    assert rounded(Decimal("0.135"), "EUR") == Decimal("0.14")
    assert rounded(Decimal("-0.125"), "EUR") == Decimal("-0.13")
