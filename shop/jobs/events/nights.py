"""The nights of a job: what stood ready on the bench in the evening is looked at again in the morning."""

from __future__ import annotations

from datetime import datetime

from checklists.engine.history import NIGHT, Event
from shop.lib.clock import shop_day


class Nights:
    """Follows a job's events and says where a night passed while the unit was isolated."""

    def __init__(self) -> None:
        self._last: Event | None = None
        self._isolated = True

    def before(self, event: Event) -> list[Event]:
        """Return the night before an event, if one passed since the event before it."""
        night = self._since_last(event.at, event.sequence)
        self._last = event
        if event.event_type in ("power_applied", "power_removed"):
            self._isolated = event.event_type == "power_removed"
        return night

    def until(self, now: datetime) -> list[Event]:
        """Return the night between the last event and now."""
        return self._since_last(now, self._last.sequence + 1 if self._last else 1)

    def _since_last(self, at: datetime | None, sequence: int) -> list[Event]:
        last = self._last
        if last is None or last.at is None or at is None or not self._isolated:
            return []
        if shop_day(at) <= shop_day(last.at):
            return []
        return [Event(sequence=sequence, event_type=NIGHT, at=at, by="the night")]
