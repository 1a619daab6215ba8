"""What earlier units of a model measured, as a small drawing beside the limit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from shop.jobs.models import JobReading
from shop.lib.charts import Scale

MOST = 500


@dataclass(frozen=True)
class Strip:
    """Earlier readings of one quantity: the dots, the limits, and the middle of them."""

    quantity: str
    unit: str
    count: int
    lowest: float
    middle: float
    highest: float
    dots: list[float]
    limits: list[float]
    width: float = 200.0


def strips(
    make: str, model: str, quantities: Collection[str] | None = None, *, but: int | None = None
) -> dict[str, Strip]:
    """Return a strip for each quantity that earlier units of this model measured; one query."""
    if not (make and model):
        return {}
    rows = JobReading.objects.filter(make=make, model=model).exclude(job=but or 0)
    if quantities is not None:
        rows = rows.filter(quantity__in=quantities)
    found: dict[str, list[JobReading]] = defaultdict(list)
    for row in rows.order_by("-pk")[:MOST]:
        found[row.quantity].append(row)
    return {name: _strip(name, readings) for name, readings in sorted(found.items())}


def _strip(name: str, readings: list[JobReading]) -> Strip:
    values = [one.value for one in readings]
    newest = readings[0]
    limits = [bound for bound in (newest.low, newest.high) if bound is not None]
    low, high = min(values + limits), max(values + limits)
    margin = (high - low) * 0.06 or 1.0
    scale = Scale(low - margin, high + margin, 6, 194)
    return Strip(
        name,
        newest.unit,
        len(values),
        min(values),
        float(np.median(values)),
        max(values),
        [scale.at(value) for value in values],
        [scale.at(bound) for bound in limits],
    )
