"""Reads about bills: what is paid and owed, what is overdue and for how long, what nobody billed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import (
    DecimalField,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
)
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from shop.bills.models import Bill, NothingToBill, Payment
from shop.jobs.models import Job, LedgerRow
from shop.jobs.stages import Stage
from shop.lib.money import rounded
from shop.preferences import current as preferences

_MONEY: DecimalField = DecimalField(max_digits=15, decimal_places=3)
# Sums of SQLite are binary: less than this is nothing.
_LEAST = Decimal("0.0005")
AGES = (
    gettext_noop("not due"),
    gettext_noop("0 to 30"),
    gettext_noop("31 to 60"),
    gettext_noop("61 to 90"),
    gettext_noop("more than 90"),
)
_LAST_DAYS = (30, 60, 90)


def _sum(rows: QuerySet, column: str) -> Coalesce:
    grouped = rows.order_by().values("of").annotate(total=Sum(column)).values("total")
    nothing = Value(Decimal(0), output_field=_MONEY)
    return Coalesce(Subquery(grouped, output_field=_MONEY), nothing)


def bills() -> QuerySet[Bill]:
    """Return bills and credit notes with `paid`, `credited` and `owed`; a draft owes nothing."""
    paid = Payment.objects.filter(bill=OuterRef("pk")).annotate(of=F("bill"))
    taken_back = Bill.objects.filter(corrects=OuterRef("pk"), place__isnull=False)
    nothing = Value(Decimal(0), output_field=_MONEY)
    return (
        Bill.objects.select_related("job__unit", "corrects")
        .annotate(
            paid=_sum(paid, "amount"),
            credited=_sum(taken_back.annotate(of=F("corrects")), "gross"),
        )
        .annotate(owed=Coalesce(F("gross"), nothing) - F("credited") - F("paid"))
    )


def of_job(job: Job) -> list[Bill]:
    """Return the bills and credit notes of a job, newest first, with what is paid and owed."""
    return list(bills().filter(job=job).prefetch_related("lines", "payments").order_by("-pk"))


def outstanding() -> QuerySet[Bill]:
    """Return issued bills that are not paid in full, the oldest due first."""
    issued = bills().filter(sort=Bill.BILL, place__isnull=False)
    # By an expression: the types know no annotation that came through a function.
    return issued.filter(Q(owed__gte=_LEAST)).order_by("due_on", "pk")


def overdue(today: date) -> QuerySet[Bill]:
    """Return issued bills whose day has passed, and that are not paid in full."""
    return outstanding().filter(due_on__lt=today)


def state(bill: Bill, today: date) -> str:
    """Return how a bill of `bills()` stands, in a word or two; pages translate it."""
    if not bill.issued:
        return gettext_noop("draft")
    if bill.is_credit:
        return gettext_noop("credit note")
    owed = rounded(bill.owed, bill.currency)  # type: ignore[attr-defined]
    if owed < 0:
        return gettext_noop("to be given back")
    if owed == 0:
        return gettext_noop("credited") if bill.credited and not bill.paid else gettext_noop("paid")  # type: ignore[attr-defined]
    if bill.due_on is not None and bill.due_on < today:
        return gettext_noop("overdue")
    return gettext_noop("part paid") if bill.paid else gettext_noop("open")  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Aged:
    """An outstanding bill with its age: the place in AGES."""

    bill: Bill
    owed: Decimal
    age: int
    days: int

    @property
    def words(self) -> str:
        """Since when it is due."""
        if self.days < 0:
            return _("due in {days} d").format(days=-self.days)
        return _("due for {days} d").format(days=self.days) if self.days else _("due today")


@dataclass(frozen=True)
class Ageing:
    """What is owed on a day in one currency: the bills, the sums by age, and all of it."""

    currency: str
    bills: list[Aged]

    @property
    def by_age(self) -> list[tuple[str, Decimal]]:
        """The sum of each age, in the order of AGES."""
        return [
            (name, sum((one.owed for one in self.bills if one.age == place), Decimal(0)))
            for place, name in enumerate(AGES)
        ]

    @property
    def total(self) -> Decimal:
        """The sum of all."""
        return sum((one.owed for one in self.bills), Decimal(0))


def ageing(today: date) -> list[Ageing]:
    """Return what is owed by days since it was due, one for each currency."""
    aged = [_aged(bill, today) for bill in outstanding()]
    return [
        Ageing(currency, [one for one in aged if one.bill.currency == currency])
        for currency in sorted({one.bill.currency for one in aged})
    ]


def _aged(bill: Bill, today: date) -> Aged:
    days = (today - bill.due_on).days if bill.due_on else -1
    age = 0 if days < 0 else 1 + sum(days > last for last in _LAST_DAYS)
    return Aged(bill, rounded(bill.owed, bill.currency), age, days)  # type: ignore[attr-defined]


def to_bill(since: date | None = None) -> QuerySet[Job]:
    """Return closed jobs that nobody billed, those that left first at the head.

    A unit that was handed back unrepaired counts when the shop takes a fee, or when an estimate was
    agreed to. `since` leaves out what left before that day.
    """
    left = left_unbilled(fee=bool(preferences.value("inspection_fee")))
    return left if since is None else left.filter(closed_at__gte=first_moment(since))


def left_unbilled(*, fee: bool) -> QuerySet[Job]:
    """Return what `to_bill` does, for a shop that takes a fee for looking or does not."""
    issued = Bill.objects.filter(job=OuterRef("pk"), place__isnull=False)
    agreed = LedgerRow.objects.filter(
        job=OuterRef("pk"), event_type="estimate_answered", body__contains='"answer":"yes"'
    )
    # As an exclusion, or SQLite goes by the index of joined jobs, where nearly all are none.
    gone = Job.objects.filter(closed_at__isnull=False).exclude(joined_into__isnull=False)
    left = gone.filter(~Exists(issued), ~Exists(NothingToBill.objects.filter(job=OuterRef("pk"))))
    if not fee:
        left = left.filter(Q(stage=Stage.RELEASED) | Exists(agreed))
    return left.select_related("unit").order_by("closed_at")


def first_moment(day: date) -> datetime:
    """Return when a day began, which an index answers; the day of each row would be worked out anew."""
    return timezone.make_aware(datetime.combine(day, time()))


def remaining(bill: Bill) -> Decimal:
    """Return how much of an issued bill no credit note has taken back."""
    taken = bill.credits.filter(place__isnull=False).aggregate(sum=Sum("gross"))["sum"]
    return (bill.gross or Decimal(0)) - rounded(taken or Decimal(0), bill.currency)


def recent(today: date, days: int) -> date:
    """Return the day so many days before."""
    return today - timedelta(days=days)
