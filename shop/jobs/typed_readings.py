"""Readings as people type them, turned into numbers of the unit that the step asks for."""

from __future__ import annotations

from collections.abc import Sequence

from checklists.engine.checklist import ListedStep
from shop.lib import typed_numbers
from shop.lib.phrases import said
from shop.lib.refusals import BadInput
from shop.preferences import current as preferences


def as_numbers(
    step: ListedStep, readings: Sequence[tuple[str, object]]
) -> list[tuple[str, object]]:
    """Return (quantity, number) for each value; text is read by the shop's parser.

    BadInput names the reading and what was typed. A quantity that the step does not ask for
    stays as it is, for the judge to name.
    """
    units = {reading.quantity: (reading.title, reading.unit) for reading in step.readings}
    found: list[tuple[str, object]] = []
    for quantity, value in readings:
        if isinstance(value, str) and quantity in units:
            found += [(quantity, number) for number in _numbers(quantity, *units[quantity], value)]
        else:
            found.append((quantity, value))
    return found


def _numbers(quantity: str, title: str, unit: str, typed: str) -> list[float]:
    try:
        values = typed_numbers.several(typed, unit=unit, decimal=preferences.value("decimal_sign"))
    except typed_numbers.TypedWrong as wrong:
        raise BadInput([(quantity, f"{title} ({quantity}): {said(wrong)}")]) from None
    return values
