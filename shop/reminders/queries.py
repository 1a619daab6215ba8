"""Which reminders still hold."""

from __future__ import annotations

from datetime import datetime
from functools import reduce
from operator import or_

from django.db.models import Exists, OuterRef, Q, QuerySet

from shop.lib.prepared import Prepared
from shop.reminders.detectors import RELEVANT_WHILE
from shop.reminders.models import Reminder, Snooze
from shop.reminders.policy import TOPICS

SHOWN = 200


def open_reminders(now: datetime) -> list[Reminder]:
    """Return what still holds and is not snoozed, urgent first, each with its last level."""
    latest: dict[tuple[int, str], Reminder] = {}
    for row in _OPEN(now):
        latest.setdefault((row.job_id, row.dedup_key), row)
    order = list(TOPICS)
    return sorted(latest.values(), key=lambda row: (order.index(row.topic), row.made_at))


def _open(now: datetime) -> QuerySet[Reminder]:
    still_relevant = reduce(
        or_, (Q(topic=topic) & condition for topic, condition in RELEVANT_WHILE.items())
    )
    snoozed = Snooze.objects.filter(job=OuterRef("job"), topic=OuterRef("topic"), until__gt=now)
    urgent = [topic for topic, known in TOPICS.items() if known.urgent]
    return (
        Reminder.objects.filter(still_relevant, job__closed_at=None, cleared_at=None)
        .filter(Q(topic__in=urgent) | ~Exists(snoozed))
        .select_related("job__unit", "job__technician")
        .distinct()
        .order_by("-made_at")[:SHOWN]
    )


_OPEN = Prepared(_open, datetime, related=("job", "job__unit", "job__technician"))
