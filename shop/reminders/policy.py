"""Topics of reminders, and how long to wait before the next level."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job
from shop.jobs.stages import STALL_TIMEOUT_HOURS, Stage
from shop.lib.clock import after_working_hours

# All times and levels: common practice.
PERMIT_LONG_AFTER = timedelta(hours=4)
CUSTOMER_SILENT_HOURS = 27
OWNERS_FROM_LEVEL = 3  # from this level on the owners of the shop are told as well

NextTime = Callable[[Job, datetime], datetime]


def _clock(hours: float) -> NextTime:
    return lambda job, at: at + timedelta(hours=hours)


def _working(hours: float) -> NextTime:
    return lambda job, at: after_working_hours(at, hours)


def _stall_timeout(job: Job, at: datetime) -> datetime:
    return after_working_hours(at, STALL_TIMEOUT_HOURS.get(Stage(job.stage), 18))


@dataclass(frozen=True, slots=True)
class Topic:
    """One topic of reminders: how many levels, when the next is due, and how it is treated.

    `urgent` ones go out at night as well and cannot be snoozed.
    """

    title: str | Promise
    levels: int
    next_time: NextTime
    urgent: bool = False


TOPICS: dict[str, Topic] = {
    "overnight": Topic(_("Mains left on"), 3, _clock(1), urgent=True),
    "permit-long": Topic(_("Mains on for long"), 3, _clock(4)),
    "soak-reading": Topic(_("Soak reading due"), 3, _clock(1)),
    "parts-here": Topic(_("Parts are here"), 3, _working(9)),
    "parcel-late": Topic(_("Parcel late"), 4, _working(18)),
    "owner-silent": Topic(_("No answer from the customer"), 3, _working(27)),
    "stalled": Topic(_("Stalled"), 4, _stall_timeout),
}


def next_level_at(topic: str, job: Job, level: int, at: datetime) -> datetime | None:
    """Return when the level after this one is due; None after the last."""
    known = TOPICS[topic]
    return known.next_time(job, at) if level < known.levels else None
