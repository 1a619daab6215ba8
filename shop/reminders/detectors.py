"""What to remind of: one detector for each topic. Nothing here writes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.jobs import names, queries, soaking
from shop.jobs.models import Job, JobPart, LedgerRow, Permit
from shop.jobs.stages import Power, Waiting
from shop.lib import languages
from shop.lib.clock import after_working_hours, closing_before, is_open
from shop.lib.phrases import span
from shop.parts.models import Allocation, Order
from shop.planning.wording import days_late
from shop.reminders.models import Reminder
from shop.reminders.policy import CUSTOMER_SILENT_HOURS, PERMIT_LONG_AFTER

MOST_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Alert:
    """Something to say about a job; the same one has the same `dedup_key` however often it is detected."""

    job: Job
    topic: str
    dedup_key: str
    sentence: str


def stalled_jobs(now: datetime) -> list[Alert]:
    """Jobs that nobody has touched for longer than the stall timeout of their stage, without a reminder just now."""
    reminded = Reminder.objects.filter(
        Q(next_at__isnull=True) | Q(next_at__gt=now),
        job=OuterRef("pk"),
        topic="stalled",
        head=OuterRef("head"),
    )
    due = Job.objects.filter(~Exists(reminded), closed_at=None, due_at__lt=now)
    touched = LedgerRow.objects.filter(job=OuterRef("pk")).order_by("-sequence").values("at")[:1]
    rows = due.annotate(touched=Subquery(touched)).select_related("unit", "technician")
    return [_stalled(job, now) for job in rows.order_by("due_at")[:MOST_AT_ONCE]]


def _stalled(job: Job, now: datetime) -> Alert:
    since: datetime = getattr(job, "touched", None) or job.received_at
    # The head names the row after which nothing happened: a job that stalls again later
    # has a new key.
    key = f"stalled/{job.stage}/{job.head}"
    words = _("nothing has happened for {time} in stage {stage}.")
    said = words.format(time=span(since, now), stage=names.stage_name(job.stage))
    return Alert(job, "stalled", key, said)


def overdue_soak_readings(now: datetime) -> list[Alert]:
    """Soaks on which a reading of the plan is overdue: the same plan that the soak's page shows."""
    running = [
        (job, _overdue_reading(job, now)) for job in _open().filter(waiting_on=Waiting.SOAK_CLOCK)
    ]
    return [
        Alert(
            job,
            "soak-reading",
            f"soak-reading/{due:%Y-%m-%dT%H:%M}",
            _("on soak: a reading was due at {time}.").format(time=_hour(due)),
        )
        for job, due in running
        if due is not None
    ]


def _overdue_reading(job: Job, now: datetime) -> datetime | None:
    traveller = queries.Traveller.of(job)
    soak = soaking.soak_of(traveller.record, traveller.checklist)
    return soak.overdue(now) if soak else None


def long_permits(now: datetime) -> list[Alert]:
    """Units that have had mains for hours, but for those on soak."""
    live = _live_permits().exclude(job__waiting_on=Waiting.SOAK_CLOCK)
    return [
        Alert(
            permit.job,
            "permit-long",
            f"permit-long/{permit.pk}",
            _("{power} mains since {time}.").format(
                power=names.power_name(permit.power), time=_hour(permit.granted_at)
            ),
        )
        for permit in live.filter(granted_at__lt=now - PERMIT_LONG_AFTER)
    ]


def mains_left_on(now: datetime) -> list[Alert]:
    """Units that have had mains since before the shop closed."""
    closed_at = closing_before(now)
    if closed_at is None or is_open(now):
        return []
    return [
        Alert(
            permit.job,
            "overnight",
            f"overnight/{permit.pk}/{timezone.localtime(closed_at):%Y-%m-%d}",
            _left_on(permit),
        )
        for permit in _live_permits().filter(granted_at__lt=closed_at)
    ]


def _left_on(permit: Permit) -> str:
    on_soak = permit.job.waiting_on == Waiting.SOAK_CLOCK
    words = (
        _("{power} mains is on and the shop is closed (soak).")
        if on_soak
        else _("{power} mains is on and the shop is closed.")
    )
    return words.format(power=names.power_name(permit.power))


def late_parcels(now: datetime) -> list[Alert]:
    """Jobs that wait for a part on an order that should have come."""
    today = timezone.localdate(now)
    still_needed = JobPart.objects.filter(
        job=OuterRef("job"), need=OuterRef("need"), outstanding=True
    )
    late_allocations = Allocation.objects.filter(
        Exists(still_needed),
        dropped_at=None,
        line__order__closed_at=None,
        line__order__expected_on__lt=today,
    )
    late_by_job_and_order = {
        (allocation.job, allocation.line.order_id): allocation
        for allocation in late_allocations.select_related("line__order__supplier")
    }
    jobs = _open().in_bulk({job for job, _ in late_by_job_and_order})
    return [
        Alert(
            jobs[number],
            "parcel-late",
            f"parcel-late/{order}",
            _late(allocation.line.order, today),
        )
        for (number, order), allocation in late_by_job_and_order.items()
        if number in jobs
    ]


def _late(order: Order, today: date) -> str:
    return _("{order} is {days_late}.").format(
        order=order, days_late=days_late(order.expected_on, today)
    )


def unanswered_estimates(now: datetime) -> list[Alert]:
    """Estimates that nobody has answered."""
    waiting = _open().filter(waiting_on=Waiting.CUSTOMER, waiting_since__isnull=False)
    # Working hours pass no faster than the clock: what was sent later cannot be due.
    asked = waiting.filter(waiting_since__lt=now - timedelta(hours=CUSTOMER_SILENT_HOURS))
    return [
        Alert(
            job,
            "owner-silent",
            f"owner-silent/{job.waiting_since:%Y%m%dT%H%M%S}",
            _("the customer has not answered the estimate since {day}.").format(
                day=languages.day_of_year(job.waiting_since)
            ),
        )
        for job in asked
        if job.waiting_since
        and after_working_hours(job.waiting_since, CUSTOMER_SILENT_HOURS) <= now
    ]


def arrived_parts(now: datetime) -> list[Alert]:
    """Units on the shelf whose last required part has come."""
    return [
        Alert(
            job,
            "parts-here",
            f"parts-here/{job.ready_since:%Y%m%dT%H%M%S}",
            _("its parts are here; it can go back on the bench."),
        )
        for job in _open().filter(ready_since__isnull=False)
    ]


DETECTORS: dict[str, Callable[[datetime], list[Alert]]] = {
    "overnight": mains_left_on,
    "permit-long": long_permits,
    "soak-reading": overdue_soak_readings,
    "parts-here": arrived_parts,
    "parcel-late": late_parcels,
    "owner-silent": unanswered_estimates,
    "stalled": stalled_jobs,
}

# What must be true of the job for a reminder still to be worth showing.
RELEVANT_WHILE: dict[str, Q] = {
    "overnight": ~Q(job__power=Power.ISOLATED.value),
    "permit-long": ~Q(job__power=Power.ISOLATED.value),
    "soak-reading": Q(job__waiting_on=Waiting.SOAK_CLOCK, head=F("job__head")),
    "parts-here": Q(job__ready_since__isnull=False),
    "parcel-late": Q(job__parts__outstanding=True),
    "owner-silent": Q(job__waiting_on=Waiting.CUSTOMER),
    "stalled": Q(head=F("job__head")),
}


def _open() -> QuerySet[Job]:
    return Job.objects.filter(closed_at=None).select_related("unit", "technician")


def _hour(at: datetime) -> str:
    return f"{timezone.localtime(at):%H:%M}"


def _live_permits() -> QuerySet[Permit]:
    return Permit.objects.filter(ended_at=None).select_related("job__unit", "job__technician")
