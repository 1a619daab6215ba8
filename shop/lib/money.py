"""Exact money: decimal amounts in one currency, rounded in one stated way.

Amounts are rounded half up, to the places that the currency has (ISO 4217, as CLDR lists them).
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from babel.numbers import get_currency_precision
from moneyed import Money
from moneyed.l10n import format_money

PATTERN = "#,##0.00 \u00a4\u00a4"


def rounded(amount: Money) -> Money:
    """Return the amount as it can be paid: half up, to the places of its currency."""
    places = Decimal(1).scaleb(-get_currency_precision(amount.currency.code))
    return Money(amount.amount.quantize(places, ROUND_HALF_UP), amount.currency)


def said(amount: Money) -> str:
    """Return the amount for people: '1,234.50 EUR'."""
    return format_money(amount, format=PATTERN, locale="en")
