"""A bill on paper: what it says, typeset as PDF/A-3 with the electronic invoice inside."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext
from stdnum import iban

from shop.bills import einvoice, paper_words, payment_code
from shop.bills.models import Bill, BillLine
from shop.documents import typesetting
from shop.documents.commercial_documents import ROUNDING, tax_words
from shop.documents.common import foot, logo_file
from shop.lib import languages
from shop.lib.languages import day
from shop.lib.refusals import bad, refuse
from shop.lib.web.templatetags.formatting import brief, brief_price, price

TEMPLATES = Path(__file__).parent / "typst"
# The word that laws on tax ask for (Directive 2006/112/EC, Article 226, from memory).
TITLES = {Bill.BILL: gettext_lazy("Invoice"), Bill.CREDIT: gettext_lazy("Credit note")}
_FILES = {Bill.BILL: "invoice", Bill.CREDIT: "credit-note"}
SMALL = gettext_lazy(
    "Issued bills are kept as they are; a correction is a credit note with a number of its own."
)


def pdf_of(bill: Bill, size: str) -> bytes:
    """Return an issued bill as PDF, in the language it was issued in. Refused for a draft; BadInput for an unknown size of paper."""
    if not bill.issued or bill.issued_at is None:
        raise refuse("draft", _("A draft has no paper; issue it first."))
    if size not in typesetting.SIZES:
        raise bad("size", _("size is one of {these}.").format(these=", ".join(typesetting.SIZES)))
    with translation.override(bill.language or languages.ENGLISH):
        return _typeset(bill, bill.issued_at, size)


def _typeset(bill: Bill, at: datetime, size: str) -> bytes:
    code = payment_code.svg_of(bill, to_pay(bill))
    logo = logo_file()
    data = content(bill) | {"paper": size, "code": bool(code), "logo": bool(logo)}
    plain = typesetting.compile_pdf(
        "invoice",
        data,
        at=at,
        pictures=logo | ({"code.svg": code} if code else {}),
        templates=TEMPLATES,
        words=paper_words.WORDS,
        standard="a-3b",
    )
    return einvoice.with_xml(plain, bill, data["title"])


def to_pay(bill: Bill) -> Decimal:
    """Return what was to be paid when it was issued; later payments leave the paper as it is."""
    return (bill.gross or Decimal(0)) - bill.deposit


def file_name(bill: Bill) -> str:
    """Return what its file is called: 'invoice-2031-0007.pdf'."""
    return f"{_FILES[bill.sort]}-{bill.number}.pdf"


def content(bill: Bill) -> dict[str, Any]:
    """Return what the paper says, in words; no layout."""
    return letterhead(bill, f"{TITLES[bill.sort]} {bill.number}") | {
        "facts": _facts(bill),
        "corrects": _corrects(bill),
        "words": bill.words,
        "lines": [_cells(line, bill) for line in bill.lines.all()],
        **_sums(bill),
        "notes": _notes(bill),
        "pay": _pay(bill),
        "small": [str(ROUNDING), str(SMALL), *bill.terms.splitlines()],
    }


def letterhead(bill: Bill, title: str) -> dict[str, Any]:
    """Return what every paper about a bill has: who writes to whom, about which unit."""
    serial = bill.job.unit.serial
    return {
        "title": title,
        "foot": foot(bill.job_id, title),
        "fonts": [settings.FONT] if settings.FONT else [],
        "shop": bill.seller_name,
        "shop_address": ", ".join(_home(bill)),
        "telephone": " · ".join(filter(None, [bill.seller_telephone, bill.seller_email])),
        "number": str(bill.job_id),
        "unit": str(bill.job.unit),
        "serial": _("Serial number {serial}").format(serial=serial) if serial else "",
        "record": f"{bill.seller_name}, {bill.number}",
        "return_line": ", ".join([bill.seller_name, *_home(bill)]),
        "buyer": [bill.buyer_name, *bill.buyer_postal.lines(seen_from=bill.seller_country)],
    }


def _home(bill: Bill) -> list[str]:
    return bill.seller_postal.lines(seen_from=bill.seller_country)


def day_or_nothing(on: date | None) -> str:
    """Return a day in words; empty for none."""
    return day(on) if on else ""


def _facts(bill: Bill) -> list[list[str]]:
    work_of = pgettext("the day on which the work was done", "Work of")
    facts = [
        [pgettext("of an invoice", "Number"), bill.number],
        [pgettext("of an invoice", "Date"), day_or_nothing(bill.issued_on)],
        [work_of, day_or_nothing(bill.delivered_on)],
    ]
    if not bill.is_credit:
        pay_by = pgettext("the day until which an invoice is paid", "To pay by")
        facts.append([pay_by, day_or_nothing(bill.due_on)])
    facts.append([_("Tax number of the shop"), bill.seller_tax_number])
    if bill.buyer_tax_number:
        facts.append([_("Your tax number"), bill.buyer_tax_number])
    return facts


def _corrects(bill: Bill) -> str:
    before = bill.corrects
    if not before:
        return ""
    said = _("For invoice {number} of {day}.")
    return said.format(number=before.number, day=day_or_nothing(before.issued_on))


def _cells(line: BillLine, bill: Bill) -> list[str]:
    return [
        line.words,
        f"{brief(line.quantity)}{' h' if line.sort == BillLine.LABOUR else ''}",
        brief_price(line.price, bill.currency),
        f"{brief(line.tax_rate)} %",
        price(line.priced.net, bill.currency),
    ]


def _sums(bill: Bill) -> dict[str, Any]:
    totals, money = bill.totals(), bill.currency
    sums = [[_("Without tax"), price(totals.net, money)]]
    for tax in totals.taxes:
        sums.append([tax_words(bill.tax_name, tax, money), price(tax.amount, money)])
    if bill.deposit:
        sums.append([_("With tax"), price(totals.gross, money)])
        sums.append([_("Paid already"), price(-bill.deposit, money)])
    last = pgettext("sum of a credit note", "Credited") if bill.is_credit else _("To pay")
    return {"sums": sums, "last": [last, price(to_pay(bill), money)]}


def _notes(bill: Bill) -> list[str]:
    untaxed = any(not tax.rate for tax in bill.totals().taxes)
    reason = bill.untaxed_because if untaxed else ""
    notes = [reason] if reason else []
    if bill.differs_because:
        said = _("Not the sum that was agreed to: {reason}")
        notes.append(said.format(reason=bill.differs_because))
    if bill.warranted_until:
        said = _("The repair is warranted until {day}.")
        notes.append(said.format(day=day(bill.warranted_until)))
    return notes


def _pay(bill: Bill) -> list[list[str]]:
    if bill.is_credit or to_pay(bill) <= 0:
        return []
    return how_to_pay(bill, to_pay(bill), by=day_or_nothing(bill.due_on))


def how_to_pay(bill: Bill, amount: Decimal, *, by: str = "") -> list[list[str]]:
    """Return where a sum goes and what stands on it; nothing without an account."""
    if not bill.seller_iban:
        return []
    return [
        [_("Amount"), price(amount, bill.currency)],
        *([[pgettext("the day until which it is paid", "By"), by]] if by else []),
        [pgettext("whom the money goes to", "To"), bill.seller_name],
        ["IBAN", iban.format(bill.seller_iban)],
        *([["BIC", bill.seller_bic]] if bill.seller_bic else []),
        [pgettext("the reference of a payment", "Write on it"), bill.number],
    ]
