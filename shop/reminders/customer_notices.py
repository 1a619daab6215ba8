"""What the watch finds that customers should hear of too."""

from __future__ import annotations

from datetime import datetime

from shop.messages import composing
from shop.reminders.detectors import parcels_late


def parts_late(*, now: datetime) -> int:
    """Tell the customers whose units wait for a parcel that should have come; once for each order."""
    return sum(
        composing.try_to_write(matter.job, "parts-late", matter.cause, now=now)
        for matter in parcels_late(now)
        if not matter.job.messages.filter(key=matter.cause).exists()
    )
