"""What is left of a job once its unit is done: it is billed, and the money is asked for."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from functools import cache

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from shop.bills import queries
from shop.jobs.models import Job
from shop.jobs.next_act import Act
from shop.jobs.next_act.acts import open_page
from shop.jobs.record import Record
from shop.lib.prepared import PreparedRows
from shop.preferences import current as preferences

BILL = gettext_noop("Write the bill")
PAYMENT = gettext_noop("Ask for the payment")
# What left longer ago stands on the page of bills alone: a shop that begins has a past.
_DAYS = 90


def bill(record: Record, now: datetime) -> Act | None:
    """A unit that has left and that nobody billed."""
    since = queries.recent(timezone.localdate(now), _DAYS)
    if not queries.to_bill(since).filter(pk=record.job.pk).exists():
        return None
    return open_page("bill", BILL, _("Nobody billed it yet."))


def to_bill(most: int) -> Iterable[int]:
    """Return closed jobs that nobody billed."""
    since = queries.recent(timezone.localdate(), _DAYS)
    left = _unbilled(most, fee=bool(preferences.value("inspection_fee")))
    return [number for (number,) in left(queries.first_moment(since))]


@cache
def _unbilled(most: int, *, fee: bool) -> PreparedRows:
    def left(since: datetime) -> QuerySet[Job]:
        return queries.left_unbilled(fee=fee).filter(closed_at__gte=since)[:most]

    return PreparedRows(left, datetime, columns=["number"])


def payment(record: Record, now: datetime) -> Act | None:
    """A bill that is not paid though its day has passed."""
    late = queries.overdue(timezone.localdate(now)).filter(job=record.job).first()
    if late is None:
        return None
    return open_page("payment", PAYMENT, _("Bill {number} is overdue.").format(number=late.number))


def to_collect(most: int) -> Iterable[int]:
    """Return closed jobs with a bill that is overdue."""
    return [number for (number,) in _overdue(most)(timezone.localdate())]


@cache
def _overdue(most: int) -> PreparedRows:
    return PreparedRows(lambda today: queries.overdue(today)[:most], date, columns=["job_id"])
