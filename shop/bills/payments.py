"""Money that comes for a bill: rows that are never changed."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.bills import services
from shop.bills.models import Bill, Payment
from shop.jobs import commands
from shop.jobs.events.bill_paid import BillPaid
from shop.lib import text
from shop.lib.money import formatted, rounded
from shop.lib.refusals import bad, refuse

_MOST = Decimal(10) ** 11


@transaction.atomic
def pay(
    key: int, amount: Decimal, paid_on: date, way: str, note: str = "", *, by: User, at: datetime
) -> Payment:
    """Note a payment, or with an amount below zero one that went back.

    On a draft it is a deposit. BadInput for an amount, day or way that is none; Refused on a
    credit note, and when more would go back than came.
    """
    roles.require(by, "bill")
    bill = Bill.objects.get(pk=key)
    services.locked(bill.job_id)
    _check(bill, amount, paid_on, way, at)
    if bill.is_credit:
        raise refuse("credit", _("Money goes back on the bill that the credit note is about."))
    before = bill.payments.aggregate(sum=Sum("amount"))["sum"] or Decimal(0)
    if before + amount < 0:
        came = formatted(rounded(before, bill.currency), bill.currency)
        raise refuse("too-much", _("Only {came} came for this bill.").format(came=came))
    kept = text.take("note", note, 200)
    payment = Payment.objects.create(
        bill=bill, amount=amount, paid_on=paid_on, way=way, note=kept, at=at, by=by
    )
    commands.record_money(bill.job_id, _told(payment), by=by, at=at)
    return payment


def _told(payment: Payment) -> BillPaid:
    """Return what the record of the job says of it; its note stays here."""
    bill, amount = payment.bill, rounded(payment.amount, payment.bill.currency)
    return BillPaid(bill=bill.number, amount=f"{amount:f}", currency=bill.currency, way=payment.way)


def _check(bill: Bill, amount: Decimal, paid_on: date, way: str, at: datetime) -> None:
    if not amount.is_finite() or not 0 < abs(amount) < _MOST:
        raise bad("amount", _("amount is an amount that was paid; below zero where it went back."))
    if amount != rounded(amount, bill.currency):
        raise bad(
            "amount",
            _("amount is finer than the coins of {currency}.").format(currency=bill.currency),
        )
    if not date(2000, 1, 1) <= paid_on <= timezone.localdate(at):
        raise bad("paid_on", _("paid_on is the day when the money came; today at the latest."))
    known = dict(Payment.WAYS)
    if way not in known:
        raise bad("way", _("way is one of {these}.").format(these=", ".join(known)))
