"""A bill as an electronic invoice: EN 16931 in the syntax of Factur-X, and inside its PDF.

Names in comments are the business terms of EN 16931-1.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from babel import Locale

from shop.bills import taxing
from shop.bills.models import Bill, BillLine
from shop.estimates.pricing import Tax, Totals
from shop.lib import languages
from shop.lib.addresses import Address

LEVEL = "en16931"
INVOICE, CREDIT_NOTE = "380", "381"  # UNTDID 1001
HOURS, PIECES = "HUR", "C62"  # UN/ECE Recommendation 20
SEPA_TRANSFER, TRANSFER = "58", "30"  # UNTDID 4461
_OUTSIDE = "O"  # UNTDID 5305
# Greece has letters of its own in front of its tax numbers (BR-CO-9).
_COUNTRIES = {code for code in map(str, Locale("en").territories) if len(code) == 2} | {"EL"}
_MOST_ADDRESS_LINES = 3


def xml_of(bill: Bill) -> bytes:
    """Return an issued bill or credit note as XML, checked against the schema of its profile."""
    # Imported here and below: each process of the shop would hold it in memory otherwise.
    import facturx  # noqa: PLC0415

    xml: bytes = facturx.generate_cii_xml(terms(bill), level=LEVEL, check_schematron=False)
    return xml


def with_xml(pdf: bytes, bill: Bill, title: str) -> bytes:
    """Return the PDF of a bill with its XML inside, as Factur-X wants it (PDF/A-3)."""
    import facturx  # noqa: PLC0415

    said: bytes = facturx.generate_from_binary(
        pdf,
        xml_of(bill),
        flavor="factur-x",
        level=LEVEL,
        check_xsd=False,
        lang=languages.in_force(),
        afrelationship="alternative",
        pdf_metadata={
            "author": bill.seller_name,
            "keywords": "Factur-X",
            "title": title,
            "subject": f"{title}, {bill.issued_on}",
        },
    )
    return said


def terms(bill: Bill) -> dict[str, Any]:
    """Return the business terms of an issued bill, as the library takes them."""
    totals = bill.totals()
    return {
        "BT-1": bill.number,
        "BT-2": bill.issued_on,
        "BT-3": CREDIT_NOTE if bill.is_credit else INVOICE,
        "BT-5": bill.currency,
        "BT-9": bill.due_on,
        "BT-72": bill.delivered_on,
        "BG-1": [{"BT-22": said} for said in _notes(bill) if said],
        "BG-3": _corrected(bill),
        "BG-4": _seller(bill),
        "BG-7": _buyer(bill),
        **_delivery(bill),
        "BG-23": [_tax(tax, bill) for tax in totals.taxes],
        "BG-25": [_line(line, bill) for line in bill.lines.all()],
        **_account(bill),
        **_sums(totals, bill),
    }


def _corrected(bill: Bill) -> list[dict[str, Any]]:
    before = bill.corrects
    return [{"BT-25": before.number, "BT-26": before.issued_on}] if before else []


def _notes(bill: Bill) -> list[str]:
    return [bill.words, bill.differs_because, bill.terms]


def _seller(bill: Bill) -> dict[str, Any]:
    party = _party(bill.seller_name, bill.seller_postal)
    contact = {"name": bill.seller_name}
    if bill.seller_telephone:
        contact["phone"] = bill.seller_telephone
    if bill.seller_email:
        contact["email"] = bill.seller_email
    party["contacts"] = [contact]
    number = bill.seller_tax_number
    # Outside the scope of the tax nobody is named by a number of it (BR-O-02).
    if _is_vat_number(number) and taxing.kind_of(bill) != Bill.OUTSIDE:
        return party | {"vat_identifier": number.upper()}  # BT-31
    # BT-32, and BT-29: without a number for value added tax the buyer knows the seller by it.
    return party | {"tax_identifier": number, "identifiers": {None: number}}


def _buyer(bill: Bill) -> dict[str, Any]:
    party, number = _party(bill.buyer_name, bill.buyer_postal), bill.buyer_tax_number
    if not number or taxing.kind_of(bill) == Bill.OUTSIDE:
        return party
    # BT-48; a number without the letters of a country is one of another kind (BT-46).
    named = (
        {"vat_identifier": number} if _is_vat_number(number) else {"identifiers": {None: number}}
    )
    return party | named


def _delivery(bill: Bill) -> dict[str, Any]:
    """Return where goods went (BG-13, with the country BT-80 that BR-IC-12 asks for)."""
    if taxing.kind_of(bill) != Bill.UNION:
        return {}
    return {"BG-13": _party(bill.buyer_name, bill.buyer_postal)}


def _is_vat_number(number: str) -> bool:
    return number[:2].upper() in _COUNTRIES and bool(number[2:3])


def _party(name: str, postal: Address) -> dict[str, Any]:
    lines = postal.street_lines
    kept = [*lines[: _MOST_ADDRESS_LINES - 1], ", ".join(lines[_MOST_ADDRESS_LINES - 1 :])]
    named = {f"addr_l{place}": line for place, line in enumerate(kept, start=1) if line}
    parts = {"postcode": postal.post_code, "city": postal.city, "country_code": postal.country}
    return {"name": name, **named, **{key: part for key, part in parts.items() if part}}


def _account(bill: Bill) -> dict[str, Any]:
    """Return where to pay: account, its holder and bank, what to write (BT-81, 83, 84, 85, 86)."""
    if bill.is_credit or not bill.seller_iban:
        return {}
    means = SEPA_TRANSFER if bill.currency == "EUR" else TRANSFER
    bank = {"BT-86": bill.seller_bic} if bill.seller_bic else {}
    return {
        **bank,
        "BT-81": means,
        "BT-83": bill.number,
        "BT-84": bill.seller_iban,
        "BT-85": bill.seller_name,
    }


def _sums(totals: Totals, bill: Bill) -> dict[str, str]:
    paid = {"BT-113": _plain(bill.deposit)} if bill.deposit else {}
    return {
        "BT-106": _plain(totals.net),
        "BT-109": _plain(totals.net),
        "BT-110": _plain(totals.gross - totals.net),
        "BT-112": _plain(totals.gross),
        "BT-115": _plain(totals.gross - bill.deposit),
        **paid,
    }


def _tax(tax: Tax, bill: Bill) -> dict[str, str]:
    said = {
        "BT-116": _plain(tax.base),
        "BT-117": _plain(tax.amount),
        "BT-118": (letter := taxing.letter(bill, taxed=bool(tax.rate))),
    }
    if not tax.rate:
        why = {"BT-120": bill.untaxed_because, "BT-121": bill.untaxed_code}
        said |= {term: words for term, words in why.items() if words}
    return said | _rate("BT-119", letter, tax.rate)


def _line(line: BillLine, bill: Bill) -> dict[str, Any]:
    letter = taxing.letter(bill, taxed=bool(line.tax_rate))
    return {
        "BT-126": str(line.place + 1),
        "BT-129": _plain(line.quantity),
        "BT-130": HOURS if line.sort == BillLine.LABOUR else PIECES,
        "BT-131": _plain(line.priced.net),
        "BT-146": _plain(line.price),
        "BT-151": letter,
        "BT-153": line.words,
        **_rate("BT-152", letter, line.tax_rate),
    }


def _rate(term: str, letter: str, rate: Decimal) -> dict[str, str]:
    """Return the rate; outside the scope of the tax there is none (BR-O-05)."""
    return {} if letter == _OUTSIDE else {term: _plain(rate)}


def _plain(number: Decimal) -> str:
    """Return '0.50' for 0.500 and '100.00' for 100: two places at least, no more than are needed."""
    whole, _, places = f"{number.normalize():f}".partition(".")
    return f"{whole}.{places:0<2}"
