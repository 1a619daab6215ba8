"""The code of a SEPA credit transfer that banking apps read (EPC069-12, version 002)."""

from __future__ import annotations

import io
from decimal import Decimal

from segno import QRCode, helpers
from stdnum import iban

from shop.bills.models import Bill

_LONGEST_NAME = 70
_MOST = Decimal("999999999.99")
# Countries and territories of the SEPA scheme by the letters of their accounts, from memory.
SEPA = frozenset(
    [
        "AD",
        "AT",
        "BE",
        "BG",
        "CH",
        "CY",
        "CZ",
        "DE",
        "DK",
        "EE",
        "ES",
        "FI",
        "FR",
        "GB",
        "GI",
        "GR",
        "HR",
        "HU",
        "IE",
        "IS",
        "IT",
        "LI",
        "LT",
        "LU",
        "LV",
        "MC",
        "MT",
        "NL",
        "NO",
        "PL",
        "PT",
        "RO",
        "SE",
        "SI",
        "SK",
        "SM",
        "VA",
    ]
)


def svg_of(bill: Bill, owed: Decimal, *, inline: bool = False) -> str:
    """Return the code that pays what is owed, as a drawing; empty where it cannot be paid so.

    `inline` is without the head of a file, to stand in a page.
    """
    if not is_payable(bill, owed):
        return ""
    drawn = code(bill.seller_name, bill.seller_iban, owed, bill.number)
    if inline:
        return drawn.svg_inline(border=2, omitsize=True, light="white")
    drawing = io.BytesIO()
    drawn.save(drawing, kind="svg", border=2)
    return drawing.getvalue().decode()


def is_payable(bill: Bill, owed: Decimal) -> bool:
    """Whether a SEPA transfer can pay it: euros, an account in the scheme, something owed."""
    account = bill.seller_iban
    return (
        not bill.is_credit
        and bill.currency == "EUR"
        and account[:2] in SEPA
        and iban.is_valid(account)
        and 0 < owed <= _MOST
    )


def code(name: str, account: str, amount: Decimal, text: str) -> QRCode:
    """Return the code of a transfer to an account (IBAN) of somebody, with what to write on it."""
    return helpers.make_epc_qr(
        name=name[:_LONGEST_NAME], iban=account, amount=amount, text=text, encoding="utf-8"
    )
