"""What is left once a unit has gone: rooms above offer it, so that nothing here knows them.

Each room registers its own when it loads (`AppConfig.ready`): a function of a job's record that
returns the act to open a page, or None when nothing of it is left.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from itertools import islice

from shop.jobs.next_act.acts import Act
from shop.jobs.record import Record

Left = Callable[[Record, datetime], Act | None]
# The numbers of at most so many closed jobs of which that act is left.
Jobs = Callable[[int], Iterable[int]]


class Afterwards:
    """What rooms above offer, in its order."""

    def __init__(self) -> None:
        self._offers: dict[str, tuple[int, Left]] = {}
        self._jobs: dict[str, tuple[int, str, Jobs]] = {}

    def add(self, page: str, left: Left, *, order: int, title: str, jobs: Jobs) -> None:
        """Offer what is left under the name of its page; a second offer of one takes its place."""
        self._offers[page] = (order, left)
        self._jobs[page] = (order, title, jobs)

    def of_all(self, most: int) -> dict[int, str]:
        """Return the numbers of the first `most` closed jobs of which something is left, with what is first."""
        found: dict[int, str] = {}
        for _, title, jobs in sorted(self._jobs.values(), key=lambda offer: offer[0]):
            for number in jobs(most):
                found.setdefault(number, title)
        return dict(islice(found.items(), most))

    def first(self, record: Record, now: datetime) -> Act | None:
        """Return the first act that is left; None when there is none."""
        for _, left in sorted(self._offers.values(), key=lambda offer: offer[0]):
            act = left(record, now)
            if act is not None:
                return act
        return None


afterwards = Afterwards()
