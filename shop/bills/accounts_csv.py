"""Bills and payments as tables for whoever keeps the accounts: amounts exact, formulas harmless."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from shop.bills import taxing
from shop.bills.models import Bill, Payment
from shop.lib.csv_cells import safe_cell

BILL_COLUMNS = (
    *("number", "kind", "date", "work_of", "due", "corrects", "job", "buyer", "buyer_country"),
    *("currency", "tax_name", "tax_category", "tax_rate", "net", "tax", "gross"),
)
PAYMENT_COLUMNS = ("number", "job", "date", "amount", "currency", "way", "note", "written_at")


def bills_csv(first: date, last: date) -> str:
    """Return what was issued from one day to another, a row for each rate; credits are below zero."""
    issued = Bill.objects.filter(issued_on__range=(first, last)).order_by("year", "place")
    bills = issued.select_related("corrects").prefetch_related("lines")
    return _table(BILL_COLUMNS, (row for bill in bills for row in _rows(bill)))


def _rows(bill: Bill) -> Iterator[list[Any]]:
    sign = Decimal(-1) if bill.is_credit else Decimal(1)
    for tax in bill.totals().taxes:
        yield [
            bill.number,
            bill.get_sort_display(),
            bill.issued_on,
            bill.delivered_on,
            bill.due_on,
            bill.corrects.number if bill.corrects else "",
            bill.job_id,
            bill.buyer_name,
            bill.buyer_country,
            bill.currency,
            bill.tax_name,
            taxing.letter(bill, taxed=bool(tax.rate)),
            tax.rate,
            sign * tax.base,
            sign * tax.amount,
            sign * (tax.base + tax.amount),
        ]


def payments_csv(first: date, last: date) -> str:
    """Return what came and went from one day to another; a draft has no number yet."""
    rows = Payment.objects.filter(paid_on__range=(first, last)).select_related("bill")
    return _table(
        PAYMENT_COLUMNS,
        (
            [
                one.bill.number,
                one.bill.job_id,
                one.paid_on,
                one.amount,
                one.bill.currency,
                one.get_way_display(),
                one.note,
                one.at.isoformat(),
            ]
            for one in rows
        ),
    )


def _table(columns: tuple[str, ...], rows: Iterator[list[Any]]) -> str:
    file = io.StringIO(newline="")
    # A mark in front, so that spreadsheets read it as UTF-8.
    file.write("\ufeff")
    writer = csv.writer(file)
    writer.writerow(columns)
    for row in rows:
        writer.writerow([safe_cell(cell) for cell in row])
    return file.getvalue()
