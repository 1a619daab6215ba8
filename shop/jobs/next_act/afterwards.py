"""What is left once a unit has gone: rooms above offer it, so that nothing here knows them.

Each room registers its own when it loads (`AppConfig.ready`): a function of a job's record that
returns the act to open a page, or None when nothing of it is left.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from shop.jobs.next_act.acts import Act
from shop.jobs.record import Record

Left = Callable[[Record, datetime], Act | None]


class Afterwards:
    """What rooms above offer, in its order."""

    def __init__(self) -> None:
        self._offers: dict[str, tuple[int, Left]] = {}

    def add(self, page: str, left: Left, *, order: int) -> None:
        """Offer what is left under the name of its page; a second offer of one takes its place."""
        self._offers[page] = (order, left)

    def first(self, record: Record, now: datetime) -> Act | None:
        """Return the first act that is left; None when there is none."""
        for _, left in sorted(self._offers.values(), key=lambda offer: offer[0]):
            act = left(record, now)
            if act is not None:
                return act
        return None


afterwards = Afterwards()
