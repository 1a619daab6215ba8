"""Issuing: a draft gets the next number of its year, and seller, buyer and sums are written down."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.bills import queries, services, taxing
from shop.bills.buyer import buyer_of
from shop.bills.comparing import compare
from shop.bills.models import Bill, NumberSeries
from shop.bills.seller import missing, seller
from shop.customers.languages import customer_of, language_of
from shop.jobs import commands
from shop.jobs.events.bill_credited import BillCredited
from shop.jobs.events.bill_issued import BillIssued
from shop.jobs.stages import Stage
from shop.jobs.warranty import warranted_until
from shop.lib.money import formatted
from shop.lib.refusals import Refusal, Refused
from shop.preferences import current as preferences


@transaction.atomic
def issue(number: int, *, by: User, at: datetime, seen: str | None = None) -> Bill:
    """Issue the draft of a job, and return it. Nothing of it changes any more.

    Refused, with every reason, for a unit that is on the bench, for settings or a buyer that are
    missing, for a sum of nothing, and for one that is not the agreed one without saying why.
    """
    roles.require(by, "bill")
    job = services.locked(number)
    bill = services.draft_of_job(job)
    if bill is None:
        raise services.no_draft()
    if seen is not None and seen != services.digest(bill):
        raise Refused(
            [Refusal("changed", _("Somebody changed the draft since: look at it again."))]
        )
    _name_the_buyer(bill)
    reasons = against(bill)
    if reasons:
        raise Refused(reasons)
    _close(bill, by, at)
    commands.record_money(number, _told(bill), by=by, at=at)
    return bill


def _told(bill: Bill) -> BillIssued | BillCredited:
    """Return what the record of the job says of it."""
    sum_ = {"total": f"{bill.gross:f}", "currency": bill.currency}
    if bill.corrects is None:
        return BillIssued(bill=bill.number, **sum_)
    return BillCredited(credit=bill.number, bill=bill.corrects.number, **sum_)


def against(bill: Bill) -> list[Refusal]:
    """Return every reason not to issue a draft."""
    gross = bill.totals().gross
    reasons = [*_of_the_shop(), *_of_the_job(bill), *taxing.against(bill)]
    if not gross:
        reasons.append(Refusal("no-price", _("It comes to nothing; give its lines a price.")))
    if bill.is_credit:
        return [*reasons, *_of_a_credit(bill, gross)]
    if not bill.differs_because and not compare(bill).agrees:
        sentence = _("The sum is not what was agreed to: write down why.")
        reasons.append(Refusal("differs", sentence))
    return reasons


def _of_the_shop() -> list[Refusal]:
    names = missing()
    if not names:
        return []
    return [Refusal("settings", _("Settings are missing: {names}.").format(names="; ".join(names)))]


def _of_the_job(bill: Bill) -> list[Refusal]:
    reasons = []
    if not bill.job.closed:
        sentence = _("The unit is on the bench: the bill follows when it leaves.")
        reasons.append(Refusal("not-closed", sentence))
    if not bill.buyer_name and not buyer_of(bill).name:
        reasons.append(Refusal("buyer", _("Nobody is on record as the customer: write a name.")))
    return reasons


def _of_a_credit(bill: Bill, gross: Decimal) -> list[Refusal]:
    reasons = []
    if not bill.words:
        reasons.append(Refusal("reason", _("Write down why it is credited.")))
    left = queries.remaining(bill.corrects) if bill.corrects else Decimal(0)
    if gross > left:
        sentence = _("Only {amount} of the bill is not credited yet.").format(
            amount=formatted(left, bill.currency)
        )
        reasons.append(Refusal("too-much", sentence))
    return reasons


def _name_the_buyer(bill: Bill) -> None:
    buyer = buyer_of(bill)
    postal = buyer.postal
    bill.buyer_name, bill.buyer_address = buyer.name, postal.street
    bill.buyer_post_code, bill.buyer_city = postal.post_code, postal.city
    bill.buyer_country = postal.country


def _close(bill: Bill, by: User, at: datetime) -> None:
    """Write down what a bill says for good, with its number last of all."""
    totals, day = bill.totals(), timezone.localdate(at)
    for name, value in asdict(seller()).items():
        setattr(bill, name, value)
    bill.buyer_country = bill.buyer_country or bill.seller_country
    bill.untaxed_as, (bill.untaxed_because, bill.untaxed_code) = _untaxed(bill)
    if bill.job.stage == Stage.RELEASED and preferences.value("warranty_days"):
        bill.warranted_until = warranted_until(bill.job)
    bill.language = language_of(customer_of(bill.job))
    bill.net, bill.gross = totals.net, totals.gross
    bill.deposit = bill.payments.aggregate(sum=Sum("amount"))["sum"] or Decimal(0)
    bill.issued_on, bill.issued_at, bill.issued_by = day, at, by
    bill.due_on = day + timedelta(days=bill.terms_days)
    bill.year, bill.place = day.year, _next_number(day.year)
    bill.save()


def _untaxed(bill: Bill) -> tuple[str, tuple[str, str]]:
    """Return kind and reason of lines without tax, before the one or the other is written over."""
    return taxing.kind_of(bill), taxing.reason(bill)


def _next_number(year: int) -> int:
    """Take the next number of a year; the row is locked until the transaction ends.

    So whoever issues at the same moment waits, and what is rolled back leaves no gap.
    """
    NumberSeries.objects.get_or_create(year=year)
    series = NumberSeries.objects.select_for_update().get(year=year)
    series.last += 1
    series.save(update_fields=["last"])
    return series.last
