"""The calendar of the shop: when it is open, and when so many working hours have passed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta, tzinfo
from functools import cache, lru_cache
from typing import NamedTuple

import holidays
from django.utils import timezone

from shop.preferences import current as preferences

_UTC = timezone.get_fixed_timezone(0)
_NIGHT_ENDS_HOUR = 4
_LOOK_AHEAD = timedelta(days=750)


def after_working_hours(start: datetime, hours: float) -> datetime:
    """Return the moment when `hours` working hours have passed since `start` (aware).

    Only the hours of the settings on days that the shop is open count, in its time zone. A shop
    that is shut for over two years on end gets the end of that look ahead.
    """
    left = timedelta(hours=hours)
    for begins, closes in _openings(start):
        usable = closes - begins
        if left <= usable:
            return timezone.localtime(begins + left)
        left -= usable
    return timezone.localtime(start + _LOOK_AHEAD)


def is_open(moment: datetime) -> bool:
    """Tell whether the shop is open at a moment (aware)."""
    opens, closes = _Calendar.now().hours(timezone.localtime(moment).date())
    return opens <= moment < closes


def closing_before(moment: datetime) -> datetime | None:
    """Return when the shop last closed before a moment, or None when it has not for a year."""
    calendar, today = _Calendar.now(), timezone.localtime(moment).date()
    for back in range(366):
        opens, closes = calendar.hours(today - timedelta(days=back))
        if opens < closes <= moment:
            return closes
    return None


def opening_after(moment: datetime) -> datetime:
    """Return the moment itself when the shop is open, else when it opens next."""
    return after_working_hours(moment, 0)


def shop_day(moment: datetime, zones: preferences.ZoneHistory | None = None) -> date:
    """Return the day that a moment (aware) belongs to: a shop's day ends at four in the morning.

    By the time zone that the shop had then: a new one gives no day back. Whoever asks for many
    moments looks up the `zones` once.
    """
    return _day_in((zones or preferences.zone_history()).at(moment), moment)


# A ledger is read again and again, and each of its rows asks for its day.
@lru_cache(maxsize=4096)
def _day_in(zone: tzinfo, moment: datetime) -> date:
    return (moment.astimezone(zone) - timedelta(hours=_NIGHT_ENDS_HOUR)).date()


def open_day(day: date) -> bool:
    """Tell whether the shop opens on a day."""
    return _Calendar.now().opens_on(day)


def open_day_from(day: date) -> date:
    """Return the day itself when the shop opens on it, else the next day that it does."""
    calendar = _Calendar.now()
    later = (day + timedelta(days=n) for n in range(_LOOK_AHEAD.days))
    return next((candidate for candidate in later if calendar.opens_on(candidate)), day)


@cache
def _public_holidays(place: str) -> holidays.HolidayBase:
    country, _, part = place.partition("-")
    return holidays.country_holidays(country, subdiv=part or None)


class _Calendar(NamedTuple):
    """What the settings say of the shop's hours, read once for many days."""

    zone: tzinfo
    first_hour: int
    last_hour: int
    workdays: frozenset[int]
    closed_days: frozenset[date]
    holidays: str

    @classmethod
    def now(cls) -> _Calendar:
        """Read the settings in force."""
        hours = preferences.value("workday_start_hour"), preferences.value("workday_end_hour")
        days = preferences.value("workdays"), preferences.value("closed_days")
        return cls(timezone.get_current_timezone(), *hours, *days, preferences.value("holidays"))

    def opens_on(self, day: date) -> bool:
        """Tell whether the shop opens on a day."""
        if day.weekday() not in self.workdays or day in self.closed_days:
            return False
        return not (self.holidays and day in _public_holidays(self.holidays))

    def hours(self, day: date) -> tuple[datetime, datetime]:
        """Return opening and closing of a day; equal on a day the shop is shut."""
        return _hours(self, day)


# The days around today are asked for at every move of every job.
@lru_cache(maxsize=1024)
def _hours(calendar: _Calendar, day: date) -> tuple[datetime, datetime]:
    midnight = datetime.combine(day, time(0), tzinfo=calendar.zone)
    opens = midnight + timedelta(hours=calendar.first_hour)
    if not calendar.opens_on(day):
        return opens, opens
    return opens, midnight + timedelta(hours=calendar.last_hour)


def _openings(start: datetime) -> Iterator[tuple[datetime, datetime]]:
    """Yield (from, until) in UTC for every stretch that the shop is open from `start` on.

    In UTC, because subtracting local times ignores a change of the clocks.
    """
    calendar, since = _Calendar.now(), start.astimezone(_UTC)
    today = timezone.localtime(start).date()
    for ahead in range(_LOOK_AHEAD.days):
        opens, closes = calendar.hours(today + timedelta(days=ahead))
        begins = max(since, opens.astimezone(_UTC))
        if begins < closes:
            yield begins, closes.astimezone(_UTC)
