"""How far a reading may be off, by the accuracy of the range that it was read on; no writing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from checklists.engine.words import MEASURED
from shop.bench.electrical.uncertainty import meter_accuracy
from shop.instruments.models import Accuracy
from shop.lib.pack_words import pack_text
from shop.lib.signs import with_unit

_PREFIXES = {-6: "u", -3: "m", 0: "", 3: "k", 6: "M"}
# A reading at the top of a range is on it, whatever the digits of the processor say.
_ROUNDED = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class Interval:
    """Where the true value lies, in the unit without a prefix; `most` is endless beyond all ranges."""

    least: float
    most: float

    @property
    def half(self) -> float | None:
        """How far the reading may be off to either side; None beyond all ranges."""
        return (self.most - self.least) / 2 if math.isfinite(self.most) else None


def range_of(ranges: Sequence[Accuracy], magnitude: float) -> Accuracy | None:
    """Return the smallest range that holds a magnitude, as a meter chooses it; None beyond all."""
    fitting = [one for one in ranges if magnitude <= one.up_to * _ROUNDED]
    return min(fitting, key=lambda one: one.up_to, default=None)


def interval(ranges: Sequence[Accuracy], magnitude: float) -> Interval:
    """Return where the true magnitude lies; it is not cut at zero.

    Beyond all ranges the meter says no more than that it is above the largest.
    """
    chosen = range_of(ranges, magnitude)
    if chosen is None:
        largest = max(ranges, key=lambda one: one.up_to)
        return Interval(largest.up_to - off_by(largest, largest.up_to), math.inf)
    half = off_by(chosen, magnitude)
    return Interval(magnitude - half, magnitude + half)


def off_by(one: Accuracy, magnitude: float) -> float:
    """Return how far a reading on this range may be off, in the unit without a prefix."""
    return meter_accuracy(
        magnitude,
        reading_percent=one.reading_percent,
        counts=one.counts,
        resolution=one.resolution,
        range_percent=one.range_percent,
        full_range=one.up_to,
    ).give_or_take


def words(one: Accuracy) -> str:
    """Return '2 % of the reading + 2 × 0.01 Ω'."""
    parts = []
    if one.reading_percent:
        parts.append(_("{percent:g} % of the reading").format(percent=one.reading_percent))
    if one.range_percent:
        parts.append(_("{percent:g} % of the range").format(percent=one.range_percent))
    if one.counts:
        parts.append(f"{one.counts:g} × {amount(one.resolution, one.unit)}")
    return " + ".join(parts) or _("half of {amount}").format(
        amount=amount(one.resolution, one.unit)
    )


def amount(value: float, unit: str) -> str:
    """Return '600 mV': a value of a unit without prefix, with the prefix that reads best."""
    power = 0
    if value and unit != "C":
        third = math.floor(math.log10(abs(value)) / 3 + 1e-9) * 3
        power = min(max(third, min(_PREFIXES)), max(_PREFIXES))
    return with_unit(f"{value / 10**power:.6g}", _PREFIXES[power] + unit)


def title(measures: str) -> str:
    """Return what pages call what is measured."""
    return pack_text(MEASURED.get(measures, (measures, ""))[0])
