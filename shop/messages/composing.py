"""Who is told what and when: looked for round after round, written once.

A customer is written to who agreed to e-mails and did not ask for another way; who wants to be rung
or written to by letter becomes an entry for a person to do, and so does who chose e-mail while the
shop sends none. Everybody else hears nothing.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import CharField, Exists, F, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Concat
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.customers import carriers
from shop.customers.languages import customer_of, in_language_of
from shop.customers.links import keys
from shop.customers.models import Customer, Intake
from shop.estimates.models import Estimate
from shop.estimates.services import latest_estimate
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import Job, LedgerRow
from shop.jobs.stages import Stage, Waiting
from shop.jobs.warranty import warranted_until
from shop.lib import languages, mail_server
from shop.lib.clock import is_open, opening_after
from shop.lib.money import formatted
from shop.lib.refusals import refuse
from shop.messages.message_templates import fill, template_for
from shop.messages.models import Message
from shop.planning.forecasting import Forecaster
from shop.preferences import current as preferences

log = logging.getLogger(__name__)

# What is older is no news: nothing is said of it, such as after the mail was switched on.
MAX_AGE = timedelta(days=2)
_SHIPPING_TIME = timedelta(days=60)
_TEXT = CharField()
_EXAMPLE_DAY = date(2031, 3, 12)
_BY_HAND = (Customer.TELEPHONE, Customer.LETTER)


def queue_due(*, now: datetime) -> int:
    """Write every message that is due and not written; returns how many are new."""
    return sum(
        try_to_queue(job, about, job.message_key, now=now)  # type: ignore[attr-defined]
        for about, jobs, key in _occasions(now)
        for job in _without_message(jobs, key)
    )


def queue_for(job: Job, *, now: datetime) -> None:
    """Write what is due for one job at once, such as when it was closed; the next round finds the rest."""
    for about, jobs, key in _occasions(now):
        for one in _without_message(jobs.filter(pk=job.pk), key):
            try_to_queue(one, about, one.message_key, now=now)  # type: ignore[attr-defined]


def try_to_queue(
    job: Job, about: str, key: str, *, now: datetime, more: dict[str, str] | None = None
) -> int:
    """Write one message as `queue_message` does; a job that fails is logged and stops no other."""
    try:
        return queue_message(job, about, key, now=now, more=more)
    except Exception:
        log.exception("the customer of job %s could not be written to", job.pk)
        return 0


def _occasions(now: datetime) -> Iterable[tuple[str, QuerySet[Job], object]]:
    since = now - MAX_AGE
    yield "received", Job.objects.filter(received_at__gte=since), Value("received")
    sent_estimates = Estimate.objects.filter(
        job=OuterRef("pk"), sent_at__gte=since, job__waiting_on=Waiting.CUSTOMER
    ).order_by("-version")
    waiting = Job.objects.filter(waiting_on=Waiting.CUSTOMER, closed_at=None)
    versions = waiting.annotate(sent_version=sent_estimates.values("version")[:1]).filter(
        sent_version__isnull=False
    )
    yield "estimate", versions, Concat(Value("estimate/"), F("sent_version"), output_field=_TEXT)
    closed = Job.objects.filter(closed_at__gte=since)
    yield "ready", closed.filter(stage=Stage.RELEASED.value), Value("ready")
    # A job that was joined into another has not left: its unit is here still.
    left = closed.filter(stage=Stage.WITHDRAWN.value, joined_into=None)
    yield "unrepaired", left, Value("unrepaired")
    shipped_rows = LedgerRow.objects.filter(
        job=OuterRef("pk"), event_type=Shipped.event_type, at__gte=since
    )
    recently_closed = Job.objects.filter(closed_at__gte=now - _SHIPPING_TIME)
    yield "shipped", recently_closed.filter(Exists(shipped_rows)), Value("shipped")


def _without_message(jobs: QuerySet[Job], key: object) -> QuerySet[Job]:
    """Return those of the jobs whose customer is reached and was not told under this key."""
    reached = Intake.objects.filter(job=OuterRef("pk"), customer__in=_reachable_customers())
    with_key = jobs.annotate(message_key=key).filter(Exists(reached))  # type: ignore[arg-type]
    written = Message.objects.filter(job=OuterRef("pk"), key=OuterRef("message_key"))
    return with_key.exclude(Exists(written)).select_related("unit", "intake__customer")


def _reachable_customers() -> QuerySet[Customer]:
    by_mail = Q(contact_by__in=("", Customer.EMAIL), agreed_to_mail_at__isnull=False) & ~Q(email="")
    reached = Q(contact_by__in=_BY_HAND) | by_mail
    if not mail_server.is_on():
        # A person tells them; that takes no consent to e-mails.
        reached |= Q(contact_by=Customer.EMAIL)
    return Customer.objects.filter(reached)


def way_to(customer: Customer) -> str:
    """Return by which way somebody is told: by e-mail who agreed to it, by a person who did not."""
    agreed = customer.email and customer.agreed_to_mail_at and customer.contact_by not in _BY_HAND
    return Message.EMAIL if agreed and mail_server.is_on() else Message.HAND


def queue_message(
    job: Job, about: str, key: str, *, now: datetime, more: dict[str, str] | None = None
) -> int:
    """Write one message; returns 1, or 0 when the customer is not reached or was told already.

    `more` is what further places of its words stand for.
    """
    customer = _reachable_customers().filter(intakes__job=job).first()
    if customer is None:
        return 0
    way = way_to(customer)
    if way == Message.HAND and about == "received" and _handed_over(job):
        return 0
    try:
        with transaction.atomic():
            _create(job, customer, about, key, way, more or {}, now)
    except IntegrityError:
        return 0  # another worker wrote it in this moment
    return 1


def write(
    job: Job, about: str, key: str, *, now: datetime, more: dict[str, str] | None = None
) -> Message:
    """Write one message that a person asked for, and return it: by hand where no mail reaches them.

    Refused where nobody is on record.
    """
    customer = customer_of(job)
    if customer is None or customer.erased_at:
        raise refuse("nobody", _("Nobody is on record as the customer."))
    return _create(job, customer, about, key, way_to(customer), more or {}, now)


def _create(
    job: Job,
    customer: Customer,
    about: str,
    key: str,
    way: str,
    more: dict[str, str],
    now: datetime,
) -> Message:
    with in_language_of(customer):
        template, values = template_for(about), placeholder_values(job, now) | more
        subject, text = fill(template.subject, values), fill(template.text, values)
    return Message.objects.create(
        job=job,
        customer=customer,
        about=about,
        key=key,
        way=way,
        subject=" ".join(subject.split())[:200],
        text=text,
        written_at=now,
        send_after=now if is_open(now) else opening_after(now),
    )


def _handed_over(job: Job) -> bool:
    """Whether the customer stood at the counter: nobody rings them to say that it is here."""
    return Intake.objects.filter(job=job, came_by=Intake.COUNTER).exists()


def placeholder_values(job: Job, now: datetime) -> dict[str, str]:
    """Return what the places stand for in a message about this job, in the language in force."""
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    customer = intake.customer if intake else None
    estimate = latest_estimate(job)
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
        "shop": preferences.value("shop_name"),
        "link": keys.address(keys.link_for(job, now=now)),
        "complaint": job.complaint,
        "total": formatted(estimate.totals().gross, estimate.currency) if estimate else "",
        "forecast": "" if job.closed else Forecaster(now, [job]).finish(job).sentence,
        "carrier": shipped.get("carrier", ""),
        "tracking": shipped.get("tracking", ""),
        "follow": _follow(shipped),
        "warranty": languages.day(warranted_until(job)) if job.closed_at else "",
    }


def _follow(shipped: Mapping[str, Any]) -> str:
    address = carriers.follow(shipped.get("carrier", ""), shipped.get("tracking", ""))
    return _("Follow it: {address}").format(address=address) if address else ""


def example_values(now: datetime) -> dict[str, str]:
    """Return what the places may stand for, for a look at the words before they are kept."""
    until = timezone.localtime(now) + timedelta(days=preferences.value("warranty_days"))
    soon = languages.day_of_year(_EXAMPLE_DAY)
    total = formatted(Decimal(184), preferences.value("currency"))
    return {
        "customer": "Mirela Dobson",
        "unit": "Ravelund Thatch 30",
        "job": "12",
        "shop": preferences.value("shop_name"),
        "link": f"{preferences.value('address')}/your-unit/example/",
        "complaint": _("Hums louder since the winter."),
        "total": total,
        "forecast": _("It will probably be ready about {day}.").format(day=soon),
        "carrier": _("the parcel service"),
        "tracking": "0000 1111",
        "follow": _("Follow it: {address}").format(address="https://parcels.example/00001111"),
        "warranty": languages.day(until),
        "bill": f"{_('Invoice')} 2031-0007",
        "owed": _("{amount} is to be paid by {day}.").format(amount=total, day=soon),
    }
