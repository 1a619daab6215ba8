"""The unit leaves repaired."""

from __future__ import annotations

from shop.jobs.events.closing import Closing


class Released(Closing):
    """The unit leaves repaired."""

    event_type = "released"
