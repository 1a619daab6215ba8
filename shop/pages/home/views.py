"""Home: what has mains on it, what hands can do now, who waits on what, what has stalled."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import cache
from math import floor
from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.backups import queries as backups
from shop.customers.announced import queries as announced
from shop.jobs import commands, queries
from shop.jobs.live_units import live_units
from shop.jobs.models import Job
from shop.jobs.next_act import afterwards
from shop.jobs.stages import Waiting
from shop.lib.prepared import Prepared
from shop.lib.web import htmx
from shop.planning.next_actions import next_actions
from shop.reminders.policy import TOPICS
from shop.reminders.queries import open_reminders
from shop.webhooks.queries import disabled_sentence

SHOWN = 40
# Mains left on after closing, as its reminders name it.
_LEFT_ON = "overnight"
_LONGEST_BAR_DAYS = 28
_FOR_OTHERS = (Waiting.CUSTOMER, Waiting.PARTS, Waiting.SOAK_CLOCK)


@require_GET
@needs("read")
def home(request: HttpRequest) -> HttpResponse:
    return htmx.page(request, "pages/home.html", "pages/_home.html", _home(timezone.now()))


def _waiting(now: datetime) -> QuerySet[Job]:
    # By closed_at, because the indexes of open jobs are built on it.
    jobs = queries.jobs(now).filter(closed_at=None)
    # What the customer asked is answered first: such a job stands under what hands can do.
    waiting = jobs.filter(waiting_on__in=_FOR_OTHERS, customer_asked=False)
    return waiting.order_by("waiting_since")[:SHOWN]


_WAITING = Prepared(_waiting, datetime, **queries.WITH_UNIT)
_EXPECTED = Prepared(lambda: announced.expected()[:SHOWN])


@dataclass(frozen=True)
class Ready:
    """A unit that can go, and what is left of it."""

    number: int
    unit: str
    stage: str
    what: str


@dataclass(frozen=True)
class Wait:
    """A unit that waits on somebody, how long, and how long its bar is, of 100."""

    number: int
    title: str
    unit: str
    on: str
    days: Decimal
    whole_days: int
    bar: int


def _home(now: datetime) -> dict[str, Any]:
    reminders = open_reminders(now)[:SHOWN]
    return {
        "not_recorded": commands.postponed_notices(),
        "backup": backups.state(now).sentence,
        "webhooks_off": disabled_sentence(),
        "live": live_units(),
        "next_actions": next_actions(now),
        "waiting": [_wait(job, now) for job in _WAITING(now)],
        "ready": _ready(now),
        "expected": _EXPECTED(),
        "today": timezone.localdate(now),
        # Mains left on stands at the head of the page, and there alone.
        "left_on": [one for one in reminders if one.topic == _LEFT_ON],
        "reminders": [one for one in reminders if one.topic != _LEFT_ON],
        "topics": TOPICS,
    }


def _ready(now: datetime) -> list[Ready]:
    """Return the closed jobs of which something is left, with what it is."""
    left = afterwards.of_all(SHOWN)
    found = _numbered(len(left))(now, *left) if left else ()
    return [Ready(job.number, job.unit.name, job.stage, left[job.number]) for job in found]


@cache
def _numbered(how_many: int) -> Prepared[Job]:
    """Return the query for so many jobs by their numbers, those that left first at the head."""

    def jobs(now: datetime, *numbers: int) -> QuerySet[Job]:
        return queries.jobs(now).filter(pk__in=numbers).order_by("closed_at")

    return Prepared(jobs, datetime, *[int] * how_many, **queries.WITH_UNIT)


def _wait(job: Job, now: datetime) -> Wait:
    days = (now - (job.waiting_since or job.stage_since)).total_seconds() / 86_400
    return Wait(
        number=job.number,
        title=job.next_title,
        unit=job.unit.name,
        on=job.waiting,  # type: ignore[attr-defined]
        days=Decimal(_rounded(10 * days)) / 10,
        whole_days=_rounded(days),
        bar=min(100, _rounded(100 * days / _LONGEST_BAR_DAYS)),
    )


def _rounded(number: float) -> int:
    return floor(number + 0.5)
