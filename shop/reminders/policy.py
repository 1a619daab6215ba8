"""What the watch speaks of, and how long it waits before it speaks again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from shop.jobs.models import Job
from shop.jobs.stages import PATIENCE_HOURS, Stage
from shop.lib.clock import after_working_hours

# All times and rungs: common practice.
PERMIT_LONG_AFTER = timedelta(hours=4)
CUSTOMER_SILENT_HOURS = 27
LAST_TO_OWNERS = 3  # from this rung on the owners of the shop are told as well

Later = Callable[[Job, datetime], datetime]


def _clock(hours: float) -> Later:
    return lambda job, at: at + timedelta(hours=hours)


def _working(hours: float) -> Later:
    return lambda job, at: after_working_hours(at, hours)


def _patience(job: Job, at: datetime) -> datetime:
    return after_working_hours(at, PATIENCE_HOURS.get(Stage(job.stage), 18))


@dataclass(frozen=True, slots=True)
class Topic:
    """One thing the watch looks for: how often it is said, when again, and how it is treated.

    `urgent` ones go out at night as well and cannot be put off.
    """

    title: str
    rungs: int
    later: Later
    urgent: bool = False


TOPICS: dict[str, Topic] = {
    "overnight": Topic("Mains left on", 3, _clock(1), urgent=True),
    "permit-long": Topic("Mains on for long", 3, _clock(4)),
    "soak-reading": Topic("Soak reading due", 3, _clock(1)),
    "parts-here": Topic("Parts are here", 3, _working(9)),
    "parcel-late": Topic("Parcel late", 4, _working(18)),
    "owner-silent": Topic("No answer from the customer", 3, _working(27)),
    "stalled": Topic("Stalled", 4, _patience),
}


def next_rung(topic: str, job: Job, rung: int, at: datetime) -> datetime | None:
    """Return when the rung after this one is due; None after the last."""
    known = TOPICS[topic]
    return known.later(job, at) if rung < known.rungs else None
