"""What stands in the calendar: jobs by number and unit, never a customer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.customers.announced import queries as announced
from shop.jobs import queries, soaking
from shop.jobs.models import Job
from shop.jobs.stages import Waiting
from shop.lib.clock import open_day_from
from shop.messages.models import Message
from shop.parts.models import Order

# Of each kind; a calendar with more helps nobody.
MOST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry: `when` is a day, or an aware moment. `key` is the same however often it is read."""

    key: str
    when: date | datetime
    title: str
    path: str


def entries(now: datetime, *, with_calls: bool, with_arrivals: bool) -> list[Entry]:
    """Return what lies ahead or is late at a moment (aware).

    Calls only for who may make them, units on their way only for who may take them in.
    """
    found = [*_soaks(now), *_promised(), *_parcels()]
    found += _arrivals(now) if with_arrivals else ()
    return [*found, *_calls(now)] if with_calls else found


def _soaks(now: datetime) -> Iterator[Entry]:
    running = Job.objects.filter(closed_at=None, waiting_on=Waiting.SOAK_CLOCK)
    for job in running.select_related("unit").order_by("pk")[:MOST]:
        traveller = queries.Traveller.of(job)
        soak = soaking.soak_of(traveller.record, traveller.checklist)
        if soak is None or soak.state != "running":
            continue
        path = job.get_absolute_url()
        end = soak.run.started_at + timedelta(hours=soak.plan.hours)
        yield Entry(
            key=f"soak-{job.number}",
            when=end,
            title=_("Soak ends: {job}").format(job=job),
            path=path,
        )
        due = soak.next_due(now)
        if due is not None and due < end:
            title = _("Soak reading due: {job}").format(job=job)
            yield Entry(key=f"reading-{job.number}", when=due, title=title, path=path)


def _promised() -> Iterator[Entry]:
    jobs = Job.objects.filter(closed_at=None, promised_on__isnull=False).select_related("unit")
    for job in jobs.order_by("promised_on", "pk")[:MOST]:
        if job.promised_on is not None:
            key, path = f"promised-{job.number}", job.get_absolute_url()
            yield Entry(
                key=key, when=job.promised_on, title=_("Promised: {job}").format(job=job), path=path
            )


def _parcels() -> Iterator[Entry]:
    orders = Order.objects.filter(closed_at=None).select_related("supplier")
    for order in orders.order_by("expected_on", "pk")[:MOST]:
        yield Entry(
            key=f"parcel-{order.pk}",
            when=order.expected_on,
            title=_("Parcel expected: {order}").format(order=order),
            path=order.get_absolute_url(),
        )


def _arrivals(now: datetime) -> Iterator[Entry]:
    """Yield units that customers send; one with a number alone, on the next day that is open."""
    day = open_day_from(timezone.localdate(now))
    on_their_way = announced.expected().exclude(expected_on=None, tracking="")
    for row in on_their_way[:MOST]:
        yield Entry(
            key=f"announced-{row.pk}",
            when=row.expected_on or day,
            title=_("Unit expected: {unit}").format(unit=row.unit or _("not said which")),
            path=row.get_absolute_url(),
        )


def _calls(now: datetime) -> Iterator[Entry]:
    """Yield, for the next day that the shop is open, whom a message waits for that no mail takes."""
    by_person = Q(way=Message.HAND) | Q(given_up_at__isnull=False)
    due = Message.objects.filter(by_person, sent_at=None, send_after__lte=now).values("job")
    jobs = Job.objects.filter(Q(pk__in=due) | Q(customer_asked=True)).select_related("unit")
    day = open_day_from(timezone.localdate(now))
    for job in jobs.order_by("pk")[:MOST]:
        path = reverse("customer-side", args=[job.number])
        yield Entry(
            key=f"call-{job.number}",
            when=day,
            title=_("Call the customer: {job}").format(job=job),
            path=path,
        )
