"""A bill goes to its customer, and a payment is asked for: by e-mail with the paper, else by hand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.bills import paper, queries
from shop.bills.models import Bill
from shop.customers.languages import customer_of, in_language_of_job
from shop.jobs.models import Job
from shop.lib.languages import day
from shop.lib.money import formatted, rounded
from shop.lib.refusals import refuse
from shop.messages import composing
from shop.messages.attachments import Attachment
from shop.messages.models import Message
from shop.preferences import current as preferences

BILL, PAYMENT = "bill", "payment"
# After so many days more, nobody is reminded by itself: such as when that was switched on.
_NO_NEWS = timedelta(days=14)


@transaction.atomic
def send(key: int, *, by: User, at: datetime) -> Message:
    """Put an issued bill or credit note in line for its customer, and return the message.

    By e-mail with its PDF where mail is on and welcome, else as an entry for a person. Refused for
    a draft, for one that is for somebody else than the customer, and while one waits already.
    """
    roles.require(by, "bill")
    bill = _issued(key)
    if bill.buyer_name != _customer_name(bill.job):
        raise refuse(
            "other-buyer",
            _("It is for {buyer_name}, who is not the customer: send them the paper.").format(
                buyer_name=bill.buyer_name
            ),
        )
    return _written(bill, BILL, at)


@transaction.atomic
def remind(key: int, *, by: User, at: datetime) -> Message:
    """Put a reminder of a payment in line, in the same way. Refused where nothing is overdue."""
    roles.require(by, "bill")
    bill = _issued(key)
    if not queries.overdue(timezone.localdate(at)).filter(pk=bill.pk).exists():
        raise refuse("not-due", _("Nothing of it is overdue."))
    return _written(bill, PAYMENT, at)


def remind_by_itself(*, now: datetime) -> int:
    """Remind once of each bill that has been due for the days that are set; returns how many."""
    days = preferences.value("reminder_days")
    if not days:
        return 0
    last = timezone.localdate(now) - timedelta(days=days)
    late = queries.outstanding().filter(due_on__range=(last - _NO_NEWS, last))
    return sum(_remind_once(bill, now) for bill in late)


def _remind_once(bill: Bill, now: datetime) -> int:
    if messages_of(bill, PAYMENT):
        return 0
    more, key = _values(bill, now), f"{PAYMENT}/{bill.number}"
    return composing.try_to_queue(bill.job, PAYMENT, key, now=now, more=more)


def messages_of(bill: Bill, about: str) -> list[Message]:
    """Return what was written about a bill, oldest first."""
    first = f"{about}/{bill.number}"
    every = Message.objects.filter(job=bill.job_id, about=about).order_by("pk")
    return [one for one in every if one.key == first or one.key.startswith(f"{first}/")]


def _issued(key: int) -> Bill:
    bill = queries.bills().get(pk=key)
    if not bill.issued:
        raise refuse("draft", _("A draft is not sent; issue it first."))
    return bill


def _customer_name(job: Job) -> str:
    customer = customer_of(job)
    return customer.name if customer else ""


def _written(bill: Bill, about: str, at: datetime) -> Message:
    before = messages_of(bill, about)
    if before and before[-1].sent_at is None:
        raise refuse("in-line", _("It is in line already: see the customer's side."))
    again = f"/{len(before) + 1}" if before else ""
    key = f"{about}/{bill.number}{again}"
    return composing.write(bill.job, about, key, now=at, more=_values(bill, at))


def _values(bill: Bill, at: datetime) -> dict[str, str]:
    owed = rounded(bill.owed, bill.currency)  # type: ignore[attr-defined]
    with in_language_of_job(bill.job):
        return {
            "bill": f"{paper.TITLES[bill.sort]} {bill.number}",
            "owed": "" if bill.is_credit else _owed(bill, owed, at),
        }


def _owed(bill: Bill, owed: Decimal, at: datetime) -> str:
    if owed <= 0 or bill.due_on is None:
        return _("It is paid.")
    past = bill.due_on < timezone.localdate(at)
    words = _("{amount} was due on {day}.") if past else _("{amount} is to be paid by {day}.")
    return words.format(amount=formatted(owed, bill.currency), day=day(bill.due_on))


def attached(message: Message) -> Iterator[Attachment]:
    """Yield the paper of the bill that a message is about."""
    bill = bill_of(message)
    pdf = paper.pdf_of(bill, preferences.value("paper_size"))
    yield Attachment(paper.file_name(bill), pdf, "application/pdf")


def bill_of(message: Message) -> Bill:
    """Return the bill that a message of this module is about."""
    year, __, place = message.key.split("/")[1].partition("-")
    issued = Bill.objects.select_related("job__unit", "corrects").filter(job=message.job_id)
    return issued.get(year=int(year), place=int(place))


def letter_address(message: Message) -> str:
    """Return where a reminder is printed as a letter."""
    size = preferences.value("paper_size")
    return reverse("reminder-paper", args=[message.job_id, message.pk, size])
