"""Entries as iCalendar (RFC 5545), with the name and the pace of RFC 7986.

Moments are UTC, so no time zone has to be described; days are days of the shop.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from shop.calendars.days import Entry
from shop.preferences import current as preferences

if TYPE_CHECKING:
    from icalendar import Event

CONTENT_TYPE = "text/calendar; charset=utf-8"
PACE = timedelta(minutes=30)
# A moment is a quarter of an hour wide, so that calendars draw it.
_WIDTH = timedelta(minutes=15)


def written(entries: Iterable[Entry], *, now: datetime) -> bytes:
    """Return the calendar as bytes; `now` (aware) is when the entries were so."""
    # Imported here and below: each process of the shop would hold it in memory otherwise.
    from icalendar import Calendar  # noqa: PLC0415

    calendar = Calendar()
    calendar.add("prodid", "-//Benchtag//Calendar of the shop//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", preferences.value("shop_name"))
    # The name by which programs older than RFC 7986 go.
    calendar.add("x-wr-calname", preferences.value("shop_name"))
    calendar.add("refresh-interval", PACE, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, now))
    return calendar.to_ical()


def _event(entry: Entry, now: datetime) -> Event:
    from icalendar import Event  # noqa: PLC0415

    event = Event()
    address = str(preferences.value("address"))
    event.add("uid", f"{entry.key}@{urlsplit(address).hostname or 'benchtag'}")
    event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
    event.add("summary", entry.title)
    event.add("url", address + entry.path)
    if isinstance(entry.when, datetime):
        event.add("dtstart", entry.when.astimezone(UTC).replace(microsecond=0))
        event.add("duration", _WIDTH)
    else:
        event.add("dtstart", entry.when)
        event.add("dtend", entry.when + timedelta(days=1))
    # It says what is to do; nobody is busy by it.
    event.add("transp", "TRANSPARENT")
    return event
