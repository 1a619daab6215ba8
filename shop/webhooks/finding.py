"""What happened since the last look becomes a message for each address that wants it.

Rows are found by their keys. One that is written beside others may appear after rows with later
keys, so every look goes back some way; what has its message already is left out.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Max

from shop.jobs.models import LedgerRow
from shop.webhooks import events
from shop.webhooks.models import Delivery, Endpoint

# Rows: more than are written in one transaction.
LOOK_BACK = 5_000
MOST_AT_ONCE = 2_000
KEPT = timedelta(days=30)


def queue_due(*, now: datetime) -> int:
    """Write the messages that are due; returns how many. Twice, or by two at once, it writes each once."""
    newest = LedgerRow.objects.aggregate(key=Max("pk"))["key"] or 0
    count = 0
    for endpoint in Endpoint.objects.filter(disabled_at=None):
        count += _queue(endpoint, newest, now)
        _forget(endpoint, now)
    return count


def _queue(endpoint: Endpoint, newest: int, now: datetime) -> int:
    after = max(endpoint.first_row, endpoint.last_row - LOOK_BACK)
    told = Delivery.objects.filter(endpoint=endpoint, row__gt=after).values("row")
    fresh = LedgerRow.objects.filter(pk__gt=after, event_type__in=endpoint.events)
    rows = list(fresh.exclude(pk__in=told).order_by("pk")[:MOST_AT_ONCE])
    looked_at = rows[-1].pk if len(rows) == MOST_AT_ONCE else newest
    with transaction.atomic():
        Delivery.objects.bulk_create(
            [_delivery(endpoint, row, now) for row in rows], ignore_conflicts=True
        )
        behind = Endpoint.objects.filter(pk=endpoint.pk, last_row__lt=looked_at)
        behind.update(last_row=looked_at)
    return len(rows)


def _delivery(endpoint: Endpoint, row: LedgerRow, now: datetime) -> Delivery:
    return Delivery(
        endpoint=endpoint,
        key=events.key_of(row),
        event=events.PREFIX + row.event_type,
        body=events.message_of(row),
        row=row.pk,
        made_at=now,
        send_after=now,
    )


def _forget(endpoint: Endpoint, now: datetime) -> None:
    """Take away what was told long ago, but for rows that a look would find again."""
    old = endpoint.deliveries.filter(made_at__lt=now - KEPT, row__lte=endpoint.last_row - LOOK_BACK)
    old.exclude(sent_at=None, given_up_at=None).delete()
