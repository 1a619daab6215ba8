"""When a reading has stood still; no writing, no clock.

The rule: at least five readings one after the other, over at least two seconds, and the highest
is no farther from the lowest than the instrument may be off at that value. The last of them counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from shop.instruments import accuracies
from shop.instruments.answers import WrongAnswer
from shop.instruments.models import Accuracy

READINGS = 5
SECONDS = 2.0
RULE = (
    f"{READINGS} readings over {SECONDS:g} seconds that differ by no more than the instrument"
    " may be off"
)


@dataclass
class Settling:
    """The readings so far, in the unit without a prefix, and since when each stands."""

    ranges: Sequence[Accuracy]
    seen: list[tuple[float, float]] = field(default_factory=list)
    in_vain: int = 0

    def take(self, seconds: float, value: float) -> float | None:
        """Take one at a time in seconds; return the value that stands still, or None.

        WrongAnswer "range" beyond the largest range that is written down for the instrument.
        """
        chosen = accuracies.range_of(self.ranges, abs(value))
        if chosen is None or not math.isfinite(value):
            self.nothing()
            raise WrongAnswer("range", f"It shows {value:g}, beyond its ranges.")
        self.in_vain = 0
        self.seen.append((seconds, value))
        tail = self._tail(seconds)
        if tail is None:
            return None
        still = max(tail) - min(tail) <= accuracies.off_by(chosen, abs(value))
        return value if still else None

    def nothing(self) -> None:
        """Take note of an answer that was none: what stood before it does not count."""
        self.seen.clear()
        self.in_vain += 1

    @property
    def hopeless(self) -> bool:
        """Whether as many answers in a row were none as would have been enough."""
        return self.in_vain >= READINGS

    def _tail(self, now: float) -> list[float] | None:
        """Return the last values that are enough in number and in time; None while there are fewer."""
        for place in range(len(self.seen) - READINGS, -1, -1):
            if now - self.seen[place][0] >= SECONDS:
                return [value for _, value in self.seen[place:]]
        return None

    @property
    def spread(self) -> tuple[float, float] | None:
        """The lowest and the highest of the last readings; None without any."""
        last = [value for _, value in self.seen[-READINGS:]]
        return (min(last), max(last)) if last else None
