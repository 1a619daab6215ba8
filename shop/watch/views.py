"""The bench now: what has mains on, what hands can do, who waits on what, what stalled."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.lib import htmx
from shop.lib.people import needs
from shop.watch import stalled

SHOWN = 40
_LONGEST_BAR_DAYS = 28


@require_GET
@needs("read")
def bench_now(request: HttpRequest) -> HttpResponse:
    return htmx.page(request, "bench/now.html", "bench/_now.html", _bench(timezone.now()))


def _bench(now: datetime) -> dict[str, Any]:
    # By closed_at, because the indexes of open jobs are built on it.
    jobs = queries.jobs(now).filter(closed_at=None)
    # One query for each heading: each has its own order, and each is short.
    energised = jobs.exclude(power=Power.ISOLATED.value)
    unplug = jobs.filter(unplug_due=True)
    hands = jobs.filter(waiting__in=("hands", "nobody")).order_by("due_at")  # type: ignore[misc]
    waiting = jobs.filter(waiting__in=("owner", "parts", "soak-clock", "carrier"))  # type: ignore[misc]
    return {
        "energised": list(energised[:SHOWN]),
        "unplug": list(unplug[:SHOWN]),
        "hands": list(hands[:SHOWN]),
        "waiting": [_wait(job, now) for job in waiting.order_by("stage_since")[:SHOWN]],
        "reminders": stalled.open_reminders(),
    }


def _wait(job: Job, now: datetime) -> dict[str, Any]:
    days = (now - job.stage_since).total_seconds() / 86_400
    return {"job": job, "days": days, "bar": min(100.0, 100 * days / _LONGEST_BAR_DAYS)}
