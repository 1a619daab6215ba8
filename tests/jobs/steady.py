"""Hands that read a job once for each state of it: most questions follow no change."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from checklists import published
from shop.jobs.queries import Traveller
from shop.lib.clock import shop_day
from tests.helpers import Bench


class SteadyBench(Bench):
    """A bench whose travellers are kept until a row, a night or an edition comes."""

    def __init__(self, by: Any) -> None:
        super().__init__(by)
        self._kept: tuple[Any, Traveller] | None = None

    def traveller(self, number: int) -> Traveller:
        """Return the traveller of the job as it stands."""
        head = self.job(number).head
        state = (number, head, shop_day(timezone.now()), published.current().digest)
        if self._kept is None or self._kept[0] != state:
            self._kept = (state, super().traveller(number))
        return self._kept[1]
