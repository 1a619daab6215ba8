"""Normal distributions with weights: what may be, and how likely, as one distribution."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
# Parts are put together that differ by less than this share of their own spread.
_CLOSE = 0.1
_BISECTIONS = 30


@dataclass(frozen=True)
class Mixture:
    """Normal distributions with weights; these may sum to less than one."""

    weight: Numbers
    mean: Numbers
    spread: Numbers

    @classmethod
    def of(cls, weight: Numbers, mean: Numbers, spread: Numbers) -> Mixture:
        """Return the mixture with parts that lie close together as one, of their mean and spread.

        Tens of thousands become hundreds; a quantile moves by less than a hundredth of the
        spread there.
        """
        size = np.round(np.log(spread) / _CLOSE)
        place = np.round(mean / (_CLOSE * np.exp(_CLOSE * size)))
        group = _numbered(_numbered(size) * len(mean) + _numbered(place))

        def summed(values: Numbers) -> Numbers:
            return np.asarray(np.bincount(group, weight * values), dtype=np.float64)

        total = summed(np.ones_like(weight))
        middle = summed(mean) / total
        square = summed(spread**2 + (mean - middle[group]) ** 2) / total
        return cls(total, middle, np.sqrt(square))

    def below(self, value: float) -> float:
        """Return how likely it lies below a value."""
        return float(self.weight @ scipy.special.ndtr((value - self.mean) / self.spread))

    def reaches(self, share: float, value: float) -> bool:
        """Whether this share of the weights lies below a value: its quantile is not above it."""
        return bool(self.below(value) >= share * self.weight.sum())

    def quantile(self, share: float) -> float:
        """Return the value below which this share of the weights lies."""
        low = float((self.mean - 8 * self.spread).min())
        high = float((self.mean + 8 * self.spread).max())
        return _bisect(lambda x: self.reaches(share, x), low, high)

    def half_width(self, middle: float, share: float = 0.95) -> float:
        """Return how far to each side of a value this share of the weights lies."""
        total = share * self.weight.sum()
        far = float((np.abs(self.mean - middle) + 8 * self.spread).max())
        return _bisect(lambda x: self.below(middle + x) - self.below(middle - x) >= total, 0, far)


def _numbered(values: NDArray[Any]) -> NDArray[np.int64]:
    """Return for each value its place among those that differ."""
    places: NDArray[np.int64] = np.unique(values, return_inverse=True)[1].ravel()
    return places


def _bisect(enough: Callable[[float], bool], low: float, high: float) -> float:
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
