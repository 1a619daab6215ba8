"""A reminder of a payment as a letter: the words that wait for a person, and how to pay."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from shop.bills import mailing, paper, paper_words, payment_code, queries
from shop.bills.models import Bill
from shop.customers.languages import in_language_of_job
from shop.documents import typesetting
from shop.documents.common import logo_file
from shop.lib.languages import day
from shop.lib.money import rounded
from shop.lib.refusals import bad, refuse
from shop.lib.web.templatetags.formatting import price
from shop.messages.models import Message


def pdf_of(message: Message, size: str) -> bytes:
    """Return a written reminder as PDF; its date is the day on which it was written.

    Refused for one that went by e-mail or lost its words, and once something was paid or credited
    since, because its words then tell another sum. BadInput for an unknown size of paper.
    """
    if size not in typesetting.SIZES:
        raise bad("size", _("size is one of {these}.").format(these=", ".join(typesetting.SIZES)))
    bill = queries.bills().get(pk=mailing.bill_of(message).pk)
    _require_as_written(message, bill)
    owed = rounded(bill.owed, bill.currency)  # type: ignore[attr-defined]
    with in_language_of_job(bill.job):
        return _typeset(message, bill, owed, size)


def _typeset(message: Message, bill: Bill, owed: Decimal, size: str) -> bytes:
    code, logo = payment_code.svg_of(bill, owed), logo_file()
    data = content(message, bill, owed) | {"paper": size, "code": bool(code), "logo": bool(logo)}
    return typesetting.compile_pdf(
        "reminder",
        data,
        at=message.written_at,
        pictures=logo | ({"code.svg": code} if code else {}),
        templates=paper.TEMPLATES,
        words=paper_words.WORDS,
    )


def file_name(bill: Bill) -> str:
    """Return what its file is called: 'reminder-2031-0007.pdf'."""
    return f"reminder-{bill.number}.pdf"


def _require_as_written(message: Message, bill: Bill) -> None:
    if message.way != Message.HAND or not message.text:
        raise refuse(
            "no-letter", _("Only a reminder that a person passes on is printed as a letter.")
        )
    since = message.written_at
    paid = bill.payments.filter(at__gt=since).exists()
    if paid or bill.credits.filter(issued_at__gt=since).exists():
        raise refuse(
            "changed",
            _(
                "Something was paid or credited since this reminder was written: its sum is out "
                "of date. Note it as told, and write another if something is still owed."
            ),
        )


def content(message: Message, bill: Bill, owed: Decimal) -> dict[str, Any]:
    """Return what the letter says, in words; no layout."""
    return paper.letterhead(bill, _("Payment reminder")) | {
        "facts": [
            [pgettext("of a letter", "Date"), day(timezone.localdate(message.written_at))],
            [_("Invoice"), bill.number],
            [pgettext("the day of an invoice", "Dated"), paper.day_or_nothing(bill.issued_on)],
            [_("Was due on"), paper.day_or_nothing(bill.due_on)],
            [_("To pay"), price(owed, bill.currency)],
        ],
        "subject": message.subject,
        "words": message.text,
        "pay": paper.how_to_pay(bill, owed),
    }
