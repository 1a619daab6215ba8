"""Judges what was measured at a step against the limits for this unit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from checklists.engine.checklist import ListedStep
from checklists.engine.listed import ListedReading
from checklists.engine.quoting import quoted

PASS, FAIL, NOT_APPLICABLE = "pass", "fail", "not-applicable"
RESULTS = (PASS, FAIL, NOT_APPLICABLE)
MOST_READINGS = 200
# Units of what has a polarity: the probes may be the other way round. All else is never below zero.
_POLAR = frozenset({"V", "mV", "A", "mA", "uA"})


class ReadingError(ValueError):
    """Readings that cannot be taken; `field` names the quantity."""

    def __init__(self, field: str, sentence: str) -> None:
        self.field = field
        super().__init__(sentence)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One measured value beside the limit that was in force, and whether it passed."""

    quantity: str
    value: float
    unit: str
    low: float | None
    high: float | None
    source: str
    passed: bool


def take(step: ListedStep, given: Sequence[tuple[str, object]]) -> list[Judged]:
    """Judge the readings given as (quantity, value in the step's unit).

    The same quantity may come several times (each channel, each device); each is judged.
    ReadingError when a quantity is not asked for here, or a value is no finite number or cannot
    be below zero and is.
    """
    if len(given) > MOST_READINGS:
        raise ReadingError("readings", f"{len(given)} readings; a step takes {MOST_READINGS}.")
    by_quantity = {reading.quantity: reading for reading in step.readings}
    return [_judge(by_quantity, quantity, value) for quantity, value in given]


def _judge(readings: dict[str, ListedReading], quantity: str, value: object) -> Judged:
    reading = readings.get(quantity)
    if reading is None:
        wanted = ", ".join(readings) or "no reading"
        raise ReadingError(
            quantity, f"{quoted(quantity)} is not read here; this step asks for {wanted}."
        )
    number = _number(quantity, value, reading.unit)
    if number < 0 and not (reading.signed or reading.unit in _POLAR):
        raise ReadingError(
            quantity, f"{quantity} is {number:g} {reading.unit}; it cannot be below zero."
        )
    return Judged(
        quantity=quantity,
        value=number,
        unit=reading.unit,
        low=reading.low,
        high=reading.high,
        source=reading.source,
        passed=reading.admits(number),
    )


def _number(quantity: str, value: object, unit: str) -> float:
    numeric = isinstance(value, int | float) and not isinstance(value, bool)
    if not numeric or not _finite(value):
        raise ReadingError(
            quantity, f"{quantity} is {quoted(value)}; it must be a number of {unit}."
        )
    return float(value)  # type: ignore[arg-type]


def _finite(value: object) -> bool:
    try:
        return math.isfinite(value)  # type: ignore[arg-type]
    except OverflowError:
        return False


def missing(step: ListedStep, judged: Sequence[Judged]) -> list[ListedReading]:
    """Return the required readings that were not given."""
    given = {reading.quantity for reading in judged}
    return [r for r in step.readings if r.required and r.quantity not in given]


def result(wanted: str, judged: Sequence[Judged]) -> str:
    """Return the result that stands: a reading outside its limits is a fail, whoever signs."""
    outside = any(not reading.passed for reading in judged)
    return FAIL if wanted == PASS and outside else wanted
