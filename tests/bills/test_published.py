"""Sums of published invoices of EN 16931, worked out anew.

Source: the examples beside the rules of CEN/TC 434, github.com/ConnectingEurope/eInvoicing-EN16931,
cii/examples; figures alone. The package of the library carries rules, and no invoices.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from shop.estimates.pricing import PricedLine, totals

# Lines as quantity, price and rate; then base and tax by rate, net and gross.
BUSINESS_1 = (
    [("1.000", "12122.5900", "19"), ("-1", "606.1300", "19"), ("1", "177.41", "19")],
    [("11693.87", "2221.84")],
    "11693.87",
    "13915.71",
)
EXAMPLE_9 = ([("3", "49", "21")], [("147", "30.87")], "147", "177.87")


@pytest.mark.parametrize("example", [BUSINESS_1, EXAMPLE_9], ids=["business 1", "example 9"])
def test_the_sums_are_those_that_were_published(example):
    lines, taxes, net, gross = example
    found = totals(
        [PricedLine(Decimal(q), Decimal(p), Decimal(r), "EUR") for q, p, r in lines], "EUR"
    )
    assert [(tax.base, tax.amount) for tax in found.taxes] == [
        (Decimal(b), Decimal(a)) for b, a in taxes
    ]
    assert (found.net, found.gross) == (Decimal(net), Decimal(gross))
