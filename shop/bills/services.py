"""Writing bills: a draft and its lines, and what stands on them until they are issued."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext
from stdnum.eu import vat

from shop.accounts import roles
from shop.bills import queries, taxing
from shop.bills.drafting import Drafted, draft_of
from shop.bills.models import Bill, BillLine, NothingToBill
from shop.customers import fields
from shop.jobs import queries as job_queries
from shop.jobs.models import Job
from shop.lib import text
from shop.lib.refusals import Refused, bad, refuse
from shop.lib.text import quoted
from shop.preferences import current as preferences

LONGEST_WORDS, LONGEST_REASON, MOST_LINES, MOST_DAYS = 4000, 500, 60, 365
LINE = ("sort", "words", "quantity", "price", "tax_rate", "need", "work")
_BUYER = {
    "buyer_name": 200,
    "buyer_address": 1000,
    "buyer_post_code": 20,
    "buyer_city": 100,
    "buyer_tax_number": 40,
}
BUYER = (*_BUYER, "buyer_country")
_UNTAXED = ("untaxed_as", "untaxed_because")
# What a credit note takes over from its bill.
_KEPT = ("currency", "tax_name", "delivered_on", *BUYER, *_UNTAXED)


def locked(number: int) -> Job:
    """Lock a job: whatever is written about its bills waits in line."""
    return Job.objects.select_for_update().get(pk=number)


def draft_of_job(job: Job) -> Bill | None:
    """Return the bill or credit note of a job that is not issued yet."""
    return Bill.objects.filter(job=job, place=None).first()


@transaction.atomic
def get_or_create_draft(number: int, *, by: User, at: datetime) -> Bill:
    """Return the draft of a job, made from its agreement, work and parts when there is none."""
    roles.require(by, "bill")
    job = locked(number)
    existing = draft_of_job(job)
    if existing is not None:
        return existing
    if job.joined_into_id is not None:
        raise refuse(
            "joined",
            gettext("This job went into job {joined_into_id}: bill that one.").format(
                joined_into_id=job.joined_into_id
            ),
        )
    drafted = _drafted(job)
    bill = _new(job, by, at, differs_because=" ".join(drafted.differs_because)[:LONGEST_REASON])
    _put(bill, drafted.lines)
    NothingToBill.objects.filter(job=job).delete()
    return bill


def _drafted(job: Job) -> Drafted:
    """Return what a draft starts from; nothing where a bill stands, so that no line comes twice."""
    issued = Bill.objects.filter(job=job, sort=Bill.BILL, place__isnull=False)
    if any(queries.remaining(bill) > 0 for bill in issued):
        return Drafted()
    return draft_of(job_queries.record_of(job))


def _new(job: Job, by: User, at: datetime, **more: Any) -> Bill:
    given = {
        "currency": preferences.value("currency"),
        "tax_name": preferences.value("tax_name")[:20],
        "delivered_on": timezone.localdate(job.closed_at or at),
        "terms_days": preferences.value("payment_days"),
    }
    return Bill.objects.create(job=job, made_at=at, made_by=by, **given | more)


def _put(bill: Bill, lines: Iterable[BillLine]) -> None:
    """Put these lines in place of those of a draft, without tax where none of it may carry any."""
    bill.lines.all().delete()
    numbered = list(lines)
    untaxed = taxing.untaxed_in_whole(bill)
    for place, line in enumerate(numbered):
        line.bill, line.place = bill, place
        line.tax_rate = Decimal(0) if untaxed else line.tax_rate
    BillLine.objects.bulk_create(numbered)


@transaction.atomic
def save_draft(
    number: int,
    given: dict[str, Any],
    lines: Sequence[dict[str, Any]],
    *,
    by: User,
    seen: str | None = None,
) -> Bill:
    """Keep what was typed on the draft, and its lines in place of those before.

    `seen` is the digest of the draft that was looked at. Refused when it was issued or changed by
    somebody else since; BadInput for what cannot be kept.
    """
    roles.require(by, "bill")
    bill = draft_of_job(locked(number))
    if bill is None:
        raise no_draft()
    if seen is not None and seen != digest(bill):
        raise refuse(
            "changed", gettext("Somebody changed the draft since you opened it. Yours is below.")
        )
    _take_words(bill, given)
    bill.delivered_on, bill.terms_days = _day(given), _days(given)
    bill.save()
    taken = [one | {"words": text.take("words", one["words"], 500, needed=True)} for one in lines]
    _put(bill, [BillLine(**{name: one[name] for name in LINE if name in one}) for one in taken])
    return bill


def _take_words(bill: Bill, given: dict[str, Any]) -> None:
    bill.words = text.take("words", given.get("words", ""), LONGEST_WORDS)
    reason = given.get("differs_because", "")
    bill.differs_because = text.take("differs_because", reason, LONGEST_REASON)
    for name, longest in _BUYER.items():
        setattr(bill, name, text.take(name, given.get(name, ""), longest))
    bill.buyer_country = fields.country("buyer_country", given.get("buyer_country", ""))
    bill.buyer_tax_number = _tax_number(bill.buyer_tax_number)
    bill.untaxed_as = _untaxed_as(given.get("untaxed_as", ""))
    because = given.get("untaxed_because", "")
    bill.untaxed_because = text.take("untaxed_because", because, LONGEST_REASON)


def _tax_number(typed: str) -> str:
    """Return a tax number without blanks; BadInput for one of the European Union that is none."""
    number = "".join(typed.split()).upper()
    if number[:2].lower() in vat.MEMBER_STATES and not vat.is_valid(number):
        raise bad(
            "buyer_tax_number",
            gettext("buyer_tax_number is {typed}; a letter or figure of it is wrong.").format(
                typed=quoted(typed)
            ),
        )
    return number


def _untaxed_as(kind: str) -> str:
    known = dict(Bill.UNTAXED)
    if kind and kind not in known:
        raise bad(
            "untaxed_as",
            gettext("untaxed_as is {kind}; it is one of {these}.").format(
                kind=quoted(kind), these=", ".join(known)
            ),
        )
    return kind


def _day(given: dict[str, Any]) -> date:
    day = given.get("delivered_on")
    if not isinstance(day, date) or not 2000 <= day.year <= 2200:
        raise bad("delivered_on", gettext("delivered_on is the day of the work, like 2031-03-02."))
    return day


def _days(given: dict[str, Any]) -> int:
    days = given.get("terms_days")
    if type(days) is not int or not 0 <= days <= MOST_DAYS:
        raise bad(
            "terms_days",
            gettext("terms_days is a whole number from 0 to {most_days}.").format(
                most_days=MOST_DAYS
            ),
        )
    return days


def no_draft() -> Refused:
    """Return the reason against changing what has been issued."""
    return refuse("no-draft", gettext("There is no draft: it was issued or dropped since."))


def digest(bill: Bill) -> str:
    """Return what a draft is told by: another one when anything of it was changed."""
    names = ("pk", "words", "differs_because", *BUYER, *_UNTAXED)
    words = [getattr(bill, name) for name in names]
    cells = [[str(getattr(line, name)) for name in LINE] for line in bill.lines.all()]
    content = repr((words, str(bill.delivered_on), bill.terms_days, cells))
    return hashlib.sha256(content.encode()).hexdigest()[:16]


@transaction.atomic
def draft_anew(number: int, *, by: User) -> Bill:
    """Make the lines of a draft from the record of today; what was typed stays but for them."""
    roles.require(by, "bill")
    job = locked(number)
    bill = draft_of_job(job)
    if bill is None or bill.is_credit:
        raise no_draft()
    drafted = _drafted(job)
    _put(bill, drafted.lines)
    bill.differs_because = " ".join(drafted.differs_because)[:LONGEST_REASON]
    bill.delivered_on = timezone.localdate(job.closed_at or bill.made_at)
    bill.save()
    return bill


@transaction.atomic
def drop_draft(number: int, *, by: User) -> None:
    """Take a draft away. Refused when money came for it."""
    roles.require(by, "bill")
    bill = draft_of_job(locked(number))
    if bill is None:
        raise no_draft()
    if bill.payments.exists():
        raise refuse("paid", gettext("Money came for this draft; it stays until it is issued."))
    bill.delete()


@transaction.atomic
def draft_credit(key: int, *, by: User, at: datetime, words: str = "") -> Bill:
    """Start the credit note of an issued bill with the lines of the bill; `words` say why."""
    roles.require(by, "bill")
    kept_words = text.take("words", words, LONGEST_WORDS)
    bill = Bill.objects.get(pk=key)
    job = locked(bill.job_id)
    if not bill.issued or bill.is_credit:
        raise refuse(
            "no-bill", gettext("Only a bill that was issued is taken back by a credit note.")
        )
    if draft_of_job(job) is not None:
        raise refuse("draft", gettext("This job has a draft already: issue it or drop it first."))
    kept = {name: getattr(bill, name) for name in _KEPT}
    kept |= {"terms_days": 0, "words": kept_words}
    credit = _new(job, by, at, sort=Bill.CREDIT, corrects=bill, **kept)
    lines = bill.lines.all()
    _put(credit, [BillLine(**{name: getattr(line, name) for name in LINE}) for line in lines])
    return credit


@transaction.atomic
def bill_nothing(number: int, reason: str, *, by: User, at: datetime) -> NothingToBill:
    """Note why a job that has left gets no bill. Refused while it is open, or once it was billed."""
    roles.require(by, "bill")
    kept = text.take("reason", reason, 200, needed=True)
    job = locked(number)
    if not job.closed:
        raise refuse("open", gettext("The unit is here still."))
    if Bill.objects.filter(job=job).exists():
        raise refuse("billed", gettext("The job has a bill or a draft of one."))
    noted, _ = NothingToBill.objects.update_or_create(
        job=job, defaults={"reason": kept, "at": at, "by": by}
    )
    return noted
