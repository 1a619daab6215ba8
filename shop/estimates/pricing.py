"""What an estimate adds up to.

Each line is quantity by price, rounded half up to the places of the currency. Tax is reckoned
once for each rate, on the sum of that rate's rounded lines, and rounded the same way. So the
figures on the paper add up as they stand there (EN 16931-1, rules BR-CO-10, BR-CO-13, BR-CO-15
and BR-CO-17).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from shop.lib.money import rounded


@dataclass(frozen=True)
class PricedLine:
    """A line: how many (hours or pieces), the price of one without tax, the tax in per cent."""

    quantity: Decimal
    price: Decimal
    tax_rate: Decimal
    currency: str

    @property
    def net(self) -> Decimal:
        """The line without tax, as it is printed."""
        return rounded(self.price * self.quantity, self.currency)


@dataclass(frozen=True)
class Tax:
    """The tax of one rate: on what, and how much."""

    rate: Decimal
    base: Decimal
    amount: Decimal


@dataclass(frozen=True)
class Totals:
    """Without tax, the taxes by rate, and what is to be paid."""

    net: Decimal
    taxes: tuple[Tax, ...]
    gross: Decimal
    currency: str


def totals(lines: Sequence[PricedLine], currency: str) -> Totals:
    """Return what the lines add up to, in a currency by its ISO 4217 code.

    ValueError for a line of another currency.
    """
    for line in lines:
        if line.currency != currency:
            raise ValueError(
                f"A line is in {line.currency}; it must be in {currency} like the sum."
            )
    net = rounded(sum((line.net for line in lines), Decimal(0)), currency)
    rates = sorted({line.tax_rate for line in lines})
    taxes = tuple(_tax(lines, rate, currency) for rate in rates)
    return Totals(net, taxes, net + sum((tax.amount for tax in taxes), Decimal(0)), currency)


def _tax(lines: Sequence[PricedLine], rate: Decimal, currency: str) -> Tax:
    base = sum((line.net for line in lines if line.tax_rate == rate), Decimal(0))
    return Tax(rate, rounded(base, currency), rounded(base * rate / 100, currency))
