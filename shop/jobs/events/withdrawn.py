"""The unit leaves unrepaired."""

from __future__ import annotations

from shop.jobs.events.closing import Closing


class Withdrawn(Closing):
    """The unit leaves unrepaired."""

    event_type = "withdrawn"
