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

from moneyed import Money

from shop.lib.money import rounded


@dataclass(frozen=True)
class Priced:
    """A line: how many (hours or pieces), the price of one without tax, the tax in per cent."""

    quantity: Decimal
    price: Money
    tax_rate: Decimal

    @property
    def net(self) -> Money:
        """The line without tax, as it is printed."""
        return rounded(self.price * self.quantity)


@dataclass(frozen=True)
class Tax:
    """The tax of one rate: on what, and how much."""

    rate: Decimal
    base: Money
    amount: Money


@dataclass(frozen=True)
class Totals:
    """Without tax, the taxes by rate, and what is to be paid."""

    net: Money
    taxes: tuple[Tax, ...]
    gross: Money


def totals(lines: Sequence[Priced], currency: str) -> Totals:
    """Return what the lines add up to, in a currency by its ISO 4217 code.

    Lines of another currency raise TypeError.
    """
    nothing = Money(0, currency)
    net = sum((line.net for line in lines), nothing)
    taxes = tuple(_tax(lines, rate, nothing) for rate in sorted({one.tax_rate for one in lines}))
    gross = net + sum((tax.amount for tax in taxes), nothing)
    return Totals(rounded(net), taxes, rounded(gross))


def _tax(lines: Sequence[Priced], rate: Decimal, nothing: Money) -> Tax:
    base = sum((line.net for line in lines if line.tax_rate == rate), nothing)
    return Tax(rate, rounded(base), rounded(base * (rate / 100)))
