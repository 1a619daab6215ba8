"""Which reminders still hold."""

from __future__ import annotations

from datetime import datetime
from functools import reduce
from operator import or_

from django.db.models import Exists, OuterRef, Q, QuerySet

from shop.reminders.detectors import STILL
from shop.reminders.models import Reminder, Snooze
from shop.reminders.policy import TOPICS

SHOWN = 200


def open_reminders(now: datetime) -> list[Reminder]:
    """Return what still holds and is not put off, urgent first, each cause with its last rung."""
    still = reduce(or_, (Q(topic=topic) & condition for topic, condition in STILL.items()))
    put_off = Snooze.objects.filter(job=OuterRef("job"), topic=OuterRef("topic"), until__gt=now)
    urgent = [topic for topic, known in TOPICS.items() if known.urgent]
    rows: QuerySet[Reminder] = (
        Reminder.objects.filter(still, job__closed_at=None, cleared_at=None)
        .filter(Q(topic__in=urgent) | ~Exists(put_off))
        .select_related("job__unit", "job__technician")
        .distinct()
        .order_by("-made_at")[:SHOWN]
    )
    latest: dict[tuple[int, str], Reminder] = {}
    for row in rows:
        latest.setdefault((row.job_id, row.cause), row)
    order = list(TOPICS)
    return sorted(latest.values(), key=lambda row: (order.index(row.topic), row.made_at))
