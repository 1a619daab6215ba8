"""Who is told what and when: looked for round after round, written once.

A customer is written to who agreed to e-mails and did not ask for another way; who wants to be rung
or written to by letter becomes an entry for a person to do. Everybody else hears nothing.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import CharField, Exists, F, OuterRef, QuerySet, Value
from django.db.models.functions import Concat
from django.utils import timezone

from shop.customers.links import keys
from shop.customers.models import Customer, Intake
from shop.estimates.models import Estimate
from shop.estimates.services import latest_estimate
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import Job, LedgerRow
from shop.jobs.stages import Stage, Waiting
from shop.lib.clock import is_open, opening_after
from shop.lib.money import formatted
from shop.messages.models import Message
from shop.messages.wording import fill, words_for
from shop.planning.forecasting import Forecaster

log = logging.getLogger(__name__)

# What is older is no news: nothing is said of it, such as after the mail was switched on.
NEWS = timedelta(days=2)
_LEAVING = timedelta(days=60)
_TEXT = CharField()


def write_due(*, now: datetime) -> int:
    """Write every message that is due and not written; returns how many are new."""
    return sum(
        try_to_write(job, about, job.message_key, now=now)  # type: ignore[attr-defined]
        for about, jobs, key in _occasions(now)
        for job in _untold(jobs, key)
    )


def try_to_write(job: Job, about: str, key: str, *, now: datetime) -> int:
    """Write one message as `write` does; a job that fails is logged and stops no other."""
    try:
        return write(job, about, key, now=now)
    except Exception:
        log.exception("the customer of job %s could not be written to", job.pk)
        return 0


def _occasions(now: datetime) -> Iterable[tuple[str, QuerySet[Job], object]]:
    since = now - NEWS
    yield "received", Job.objects.filter(received_at__gte=since), Value("received")
    asked = Estimate.objects.filter(
        job=OuterRef("pk"), sent_at__gte=since, job__waiting_on=Waiting.CUSTOMER
    ).order_by("-version")
    waiting = Job.objects.filter(waiting_on=Waiting.CUSTOMER, closed_at=None)
    versions = waiting.annotate(sent_version=asked.values("version")[:1]).filter(
        sent_version__isnull=False
    )
    yield "estimate", versions, Concat(Value("estimate/"), F("sent_version"), output_field=_TEXT)
    left = Job.objects.filter(closed_at__gte=since)
    yield "ready", left.filter(stage=Stage.RELEASED.value), Value("ready")
    yield "unrepaired", left.filter(stage=Stage.WITHDRAWN.value), Value("unrepaired")
    gone = LedgerRow.objects.filter(
        job=OuterRef("pk"), event_type=Shipped.event_type, at__gte=since
    )
    leaving = Job.objects.filter(closed_at__gte=now - _LEAVING)
    yield "shipped", leaving.filter(Exists(gone)), Value("shipped")


def _untold(jobs: QuerySet[Job], key: object) -> QuerySet[Job]:
    """Return those of the jobs whose customer is reached and was not told under this key."""
    reached = Intake.objects.filter(job=OuterRef("pk"), customer__in=_reached())
    named = jobs.annotate(message_key=key).filter(Exists(reached))  # type: ignore[arg-type]
    told = Message.objects.filter(job=OuterRef("pk"), key=OuterRef("message_key"))
    return named.exclude(Exists(told)).select_related("unit", "intake__customer")


def _reached() -> QuerySet[Customer]:
    by_hand = Customer.objects.filter(contact_by__in=(Customer.TELEPHONE, Customer.LETTER))
    if not settings.MAIL_ON:
        return by_hand
    by_mail = Customer.objects.filter(agreed_to_mail_at__isnull=False).exclude(email="")
    return by_hand | by_mail.filter(contact_by__in=("", Customer.EMAIL))


def write(job: Job, about: str, key: str, *, now: datetime) -> int:
    """Write one message; returns 1, or 0 when the customer is not reached or was told already."""
    customer = _customer(job)
    if customer is None:
        return 0
    words, values = words_for(about), values_for(job, now)
    by_hand = customer.contact_by in (Customer.TELEPHONE, Customer.LETTER)
    try:
        with transaction.atomic():
            Message.objects.create(
                job=job,
                customer=customer,
                about=about,
                key=key,
                way=Message.HAND if by_hand else Message.EMAIL,
                subject=" ".join(fill(words.subject, values).split())[:200],
                text=fill(words.text, values),
                written_at=now,
                send_after=now if is_open(now) else opening_after(now),
            )
    except IntegrityError:
        return 0  # another worker wrote it in this moment
    return 1


def _customer(job: Job) -> Customer | None:
    return _reached().filter(intakes__job=job).first()


def values_for(job: Job, now: datetime) -> dict[str, str]:
    """Return what the places stand for in a message about this job."""
    arrival = Intake.objects.select_related("customer").filter(job=job).first()
    customer = arrival.customer if arrival else None
    last = latest_estimate(job)
    row = (
        LedgerRow.objects.filter(job=job, event_type=Shipped.event_type)
        .order_by("-sequence")
        .first()
    )
    shipped = row.data if row else {}
    return {
        "customer": customer.name if customer else "",
        "unit": str(job.unit),
        "job": str(job.number),
        "shop": settings.SHOP_NAME,
        "link": keys.address(keys.link_for(job, now=now)),
        "complaint": job.complaint,
        "total": formatted(last.totals().gross, last.currency) if last else "",
        "forecast": "" if job.closed else _forecast(job, now),
        "carrier": shipped.get("carrier", ""),
        "tracking": shipped.get("tracking", ""),
        "warranty": f"{warranted_until(job):%-d %B %Y}" if job.closed_at else "",
    }


def _forecast(job: Job, now: datetime) -> str:
    found = Forecaster(now, [job]).finish(job)
    return f"It will probably be {found.words}." if found.half else ""


def warranted_until(job: Job) -> datetime:
    """Return the day the warranty on a repair ends, in the shop's calendar."""
    closed = timezone.localtime(job.closed_at)
    return closed + timedelta(days=settings.WARRANTY_DAYS)


def example(now: datetime) -> dict[str, str]:
    """Return what the places may stand for, for a look at the words before they are kept."""
    until = timezone.localtime(now) + timedelta(days=settings.WARRANTY_DAYS)
    return {
        "customer": "Mirela Dobson",
        "unit": "Ravelund Thatch 30",
        "job": "12",
        "shop": settings.SHOP_NAME,
        "link": f"{settings.ADDRESS}/your-unit/example/",
        "complaint": "Hums louder since the winter.",
        "total": formatted(Decimal(184), settings.CURRENCY),
        "forecast": "It will probably be ready about 12 March.",
        "carrier": "the parcel service",
        "tracking": "0000 1111",
        "warranty": f"{until:%-d %B %Y}",
    }
