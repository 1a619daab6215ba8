"""What is detected that customers should hear of too."""

from __future__ import annotations

from datetime import datetime

from shop.messages import composing
from shop.reminders.detectors import late_parcels


def queue_parts_late(*, now: datetime) -> int:
    """Tell the customers whose units wait for a parcel that should have come; once for each order."""
    return sum(
        composing.try_to_queue(alert.job, "parts-late", alert.dedup_key, now=now)
        for alert in late_parcels(now)
        if not alert.job.messages.filter(key=alert.dedup_key).exists()
    )
