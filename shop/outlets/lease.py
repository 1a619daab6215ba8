"""One process holds enables: a lease in the database that knows no time of day.

The holder counts up each second and goes on only while its last count was stored a short while
ago, by its own clock. Another process takes over when the count has not moved for longer than
that, by its own. Both wait on clocks that nobody sets, so two never hold at once.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db import DatabaseError
from django.db.models import F, QuerySet

from shop.lib import waiting
from shop.outlets.doubts import Doubt, elapsed
from shop.outlets.models import HolderLease

MOST_WAIT_MILLISECONDS = 300
_ONE = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """Seconds between counts, that a stored count is good for, and until another takes over."""

    beat: float = 1.0
    good: float = 3.0
    take_over: float = 5.0


class Lease:
    """The lease as one process sees it; `token` names the process."""

    def __init__(self, token: str, terms: Terms | None = None) -> None:
        self.token = token
        self.terms = terms or Terms()
        self._good_until = 0.0
        self._next = 0.0
        self._seen: tuple[str, int] | None = None
        self._seen_at = 0.0

    def try_take(self) -> bool:
        """Take it when it is free or its holder has stopped counting; tell whether it is ours."""
        began = elapsed()
        row, _ = HolderLease.objects.get_or_create(pk=_ONE)
        if row.token and not self._has_stopped((row.token, row.beat), began):
            return False
        found = HolderLease.objects.filter(pk=_ONE, token=row.token, beat=row.beat)
        taken = found.update(token=self.token, beat=F("beat") + 1) == 1
        if taken:
            self._counted(began)
        return taken

    def _has_stopped(self, now: tuple[str, int], at: float) -> bool:
        if now != self._seen:
            self._seen, self._seen_at = now, at
        return at - self._seen_at >= self.terms.take_over

    def keep(self) -> None:
        """Count up when it is time to; Doubt when somebody else has it, or no count was stored in time."""
        began = elapsed()
        if began >= self._next:
            try:
                with waiting.at_most(MOST_WAIT_MILLISECONDS):
                    if not self._mine().update(beat=F("beat") + 1):
                        raise Doubt("Another process holds the enables.")
                self._counted(began)
            except DatabaseError:
                # A long write of somebody else is no doubt, as long as the last count is good.
                self._next = began + self.terms.beat / 4
        self.check_time()

    def check_time(self) -> None:
        """Raise Doubt when the last count that was stored is too old."""
        if elapsed() > self._good_until:
            raise Doubt("The lease could not be renewed in time.")

    def check(self) -> None:
        """Read it: Doubt when it is not ours, or the last count is too old."""
        self.check_time()
        if not self._mine().exists():
            raise Doubt("Another process holds the enables.")

    def give_back(self) -> None:
        """Let another process take it at once."""
        self._mine().update(token="")

    def _mine(self) -> QuerySet[HolderLease]:
        return HolderLease.objects.filter(pk=_ONE, token=self.token)

    def _counted(self, began: float) -> None:
        self._good_until = began + self.terms.good
        self._next = began + self.terms.beat
