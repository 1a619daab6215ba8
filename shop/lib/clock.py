"""Working hours of the shop: when does a patience of so many of them run out."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django.conf import settings
from django.utils import timezone

_SATURDAY = 5


def after_working_hours(start: datetime, hours: float) -> datetime:
    """Return the moment when `hours` working hours have passed since `start` (aware).

    Monday to Friday between the hours of the settings, in the shop's time zone.
    """
    now = timezone.localtime(start)
    left = timedelta(hours=hours)
    while True:
        opens, closes = _day(now)
        begin = max(now, opens)
        if begin < closes:
            # Aware wall-clock subtraction ignores a clock change; UTC does not.
            usable = closes.astimezone(_UTC) - begin.astimezone(_UTC)
            if left <= usable:
                return timezone.localtime(begin.astimezone(_UTC) + left)
            left -= usable
        now = _day(now + timedelta(days=1))[0]


_UTC = timezone.get_fixed_timezone(0)


def _day(moment: datetime) -> tuple[datetime, datetime]:
    """Return opening and closing of the moment's day; equal on a day the shop is shut."""
    zone = timezone.get_current_timezone()
    midnight = datetime.combine(moment.date(), time(0), tzinfo=zone)
    opens = midnight + timedelta(hours=settings.WORKDAY_START_HOUR)
    if moment.weekday() >= _SATURDAY:
        return opens, opens
    return opens, midnight + timedelta(hours=settings.WORKDAY_END_HOUR)
