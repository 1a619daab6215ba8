"""Exact money: decimal amounts beside the code of their currency, rounded in one stated way.

Amounts are rounded half up, to the places that the currency has (ISO 4217, as CLDR lists them).
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from babel.numbers import format_currency, get_currency_precision

from checklists.engine.figures import THIN_SPACE, one_reading
from shop.lib import languages

FINEST_PLACES = 4  # of the price of one piece, as price lists have them


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return the amount as it can be paid: half up, to the places of its currency."""
    return amount.quantize(Decimal(1).scaleb(-get_currency_precision(currency)), ROUND_HALF_UP)


def formatted(amount: Decimal, currency: str) -> str:
    """Return an amount that can be paid for people: '1 234.50 EUR', in German '1.234,50 €'."""
    if not languages.is_english():
        return format_currency(amount, currency, locale=languages.locale())
    return _shown(format_currency(amount, currency, "#,##0.00 \u00a4\u00a4", locale="en"))


def formatted_unit_price(amount: Decimal, currency: str) -> str:
    """Return the price of one piece for people, finer than a coin where it is: '0.0125 EUR'."""
    if not languages.is_english():
        finest = amount.quantize(Decimal(1).scaleb(-FINEST_PLACES), ROUND_HALF_UP).normalize()
        return format_currency(
            finest, currency, locale=languages.locale(), decimal_quantization=False
        )
    coins = get_currency_precision(currency)
    places = "0" * coins + "#" * (FINEST_PLACES - coins)
    pattern = f"#,##0.{places} \u00a4\u00a4"
    return _shown(format_currency(amount, currency, pattern, locale="en", currency_digits=False))


def _shown(words: str) -> str:
    figures, _, code = words.rpartition(" ")
    return f"{one_reading(figures)} {code}".replace(",", THIN_SPACE)
