"""The nights of a job: what stood ready on the bench in the evening is looked at again in the morning."""

from __future__ import annotations

from datetime import date, datetime
from functools import lru_cache

from checklists.engine.history import NIGHT, Event
from shop.lib.clock import shop_day
from shop.preferences.current import zone_history


class Nights:
    """Follows a job's events and says where a night passed while the unit was isolated."""

    def __init__(self) -> None:
        self._zones = zone_history()
        self._last = 0
        # The day of the last event: worked out once, for jobs have hundreds of them.
        self._day: date | None = None
        self._at: datetime | None = None
        self._isolated = True

    def before(self, event: Event) -> list[Event]:
        """Return the night before an event, if one passed since the event before it."""
        night: list[Event] = []
        if event.at is None or event.at != self._at:  # no night within one moment
            day = shop_day(event.at, self._zones) if event.at else None
            night = self._since_last(day, event.at, event.sequence)
            self._day, self._at = day, event.at
        self._last = event.sequence
        if event.event_type in ("power_applied", "power_removed"):
            self._isolated = event.event_type == "power_removed"
        return night

    def until(self, now: datetime) -> list[Event]:
        """Return the night between the last event and now."""
        return self._since_last(shop_day(now, self._zones), now, self._last + 1)

    def _since_last(self, day: date | None, at: datetime | None, sequence: int) -> list[Event]:
        if not self._isolated or not self._night_until(day, at):
            return []
        return [_night(sequence, at)]

    def _night_until(self, day: date | None, at: datetime | None) -> bool:
        """Tell whether a night passed since the last event; another time zone counts as one."""
        if day is None or at is None or self._day is None or self._at is None:
            return False
        return day > self._day or self._zones.changed(self._at, at)


# A ledger is read again and again: what follows from its events is found by the very same ones.
@lru_cache(maxsize=1024)
def _night(sequence: int, at: datetime | None) -> Event:
    return Event(sequence=sequence, event_type=NIGHT, at=at, by="the night")
