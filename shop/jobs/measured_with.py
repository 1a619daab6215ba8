"""Readings with the instrument they were taken with: how far they may be off, and what that leaves open.

The uncertainty counts against the reading (guarded acceptance, JCGM 106:2012 8.3.2; EN 50678
practice). A reading without an instrument is judged as it stands.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from checklists.engine.checklist import ListedStep
from checklists.engine.judging import Judged
from checklists.engine.listed import ListedReading
from shop.bench.electrical.guard_bands import FAIL, TOO_CLOSE, settled
from shop.instruments import accuracies
from shop.instruments.queries import Named
from shop.lib import typed_numbers
from shop.lib.refusals import Refusal

_HALVINGS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """A judged reading, the instrument if one was named, and what it may be off by.

    `least` and `most` (endless beyond all ranges) enclose the true value, in the reading's unit.
    """

    reading: ListedReading
    judged: Judged
    named: Named | None = None
    least: float = math.nan
    most: float = math.nan
    verdict: str = ""

    @property
    def off(self) -> float | None:
        """How far it may be off to either side; None beyond all ranges, or without an instrument."""
        half = (self.most - self.least) / 2
        return half if math.isfinite(half) else None


def counted(
    step: ListedStep, judged: Sequence[Judged], named: Mapping[str, Named | None]
) -> list[Counted]:
    """Return the readings, the uncertainty counted where an instrument is named for it.

    `named` is keyed by what is measured.
    """
    asked = {reading.quantity: reading for reading in step.readings}
    return [_counted(asked[one.quantity], one, named) for one in judged]


def _counted(reading: ListedReading, judged: Judged, named: Mapping[str, Named | None]) -> Counted:
    instrument = named.get(reading.measures) if reading.measures else None
    if instrument is None:
        return Counted(reading=reading, judged=judged)
    least, most = _ends(reading, judged.value, instrument)
    # No magnitude is below zero: such a limit holds nothing, and no doubt about it either.
    nothing = not reading.signed and reading.low is not None and reading.low <= 0
    low = None if nothing else reading.low
    verdict = settled(least, most, low, reading.high) if judged.passed else FAIL
    return Counted(
        reading=reading, judged=judged, named=instrument, least=least, most=most, verdict=verdict
    )


def _ends(reading: ListedReading, value: float, named: Named) -> tuple[float, float]:
    """Return where the true value lies, in the reading's unit; a magnitude without its sign."""
    factor = typed_numbers.factor_of(reading.unit)
    found = accuracies.interval(named.ranges, abs(value) * factor)
    least, most = found.least / factor, found.most / factor
    return (-most, -least) if reading.signed and value < 0 else (least, most)


def against_doubt(step: ListedStep, readings: Sequence[Counted]) -> list[Refusal]:
    """Reasons against a pass of a hold step: readings that the instrument cannot tell from a fail."""
    if not step.step.hold:
        return []
    doubted = [one for one in readings if one.verdict == TOO_CLOSE]
    stands = (
        _(" What was signed before stands; withdraw it if you doubt it.") if step.stands else ""
    )
    return [Refusal("too-close", _sentence(one) + stands) for one in doubted]


def _sentence(one: Counted) -> str:
    reading, unit = one.reading, one.reading.unit
    assert one.named is not None
    name, value = one.named.instrument.name, one.judged.value
    if one.off is None:
        return _(
            "{title}: {value:g} {unit} is beyond the ranges of {name}; read it with a meter that reaches it ({range})."
        ).format(title=reading.title, value=value, unit=unit, name=name, range=reading.range)
    said = _(
        "{title}: {value:g} {unit} is too close to tell with {name}, which may be off by {off:.2g} {unit} ({range})."
    ).format(
        title=reading.title, value=value, unit=unit, name=name, off=one.off, range=reading.range
    )
    return f"{said} {_way_out(one, one.named)}"


def _way_out(one: Counted, named: Named) -> str:
    """Say which meter could tell, and which reading this one can."""
    unit, value = one.reading.unit, one.judged.value
    magnitude = value if one.reading.signed else abs(value)
    limit = _nearest(one.reading, magnitude)
    apart = abs(magnitude - limit)
    better = (
        _("Read it with a meter good to {amount} {unit}").format(amount=_cut(apart), unit=unit)
        if apart
        else ""
    )
    below = (limit == one.reading.high) == (magnitude >= 0)
    edge = _edge(named, abs(limit), one.reading, below=below)
    if edge is None:
        further = _("{name} cannot tell at this limit").format(name=named.instrument.name)
    else:
        further = _("with {name} it passes at {edge:.4g} {unit} or {way}").format(
            name=named.instrument.name, edge=edge, unit=unit, way=_("less") if below else _("more")
        )
    said = "; ".join(filter(None, (better, further)))
    return f"{said[0].upper()}{said[1:]}."


def _nearest(reading: ListedReading, value: float) -> float:
    ends = [end for end in (reading.low, reading.high) if end is not None]
    return min(ends, key=lambda end: abs(value - end))


def _cut(value: float) -> str:
    """Return a number cut, not rounded, to two figures: a meter that good is good enough."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{math.floor(value / step * (1 + 1e-9)) * step:.2g}"


def _edge(named: Named, limit: float, reading: ListedReading, *, below: bool) -> float | None:
    """Return the magnitude nearest to a limit that this instrument can tell; None if there is none."""
    factor = typed_numbers.factor_of(reading.unit)
    largest = max(one.up_to for one in named.ranges) / factor

    def told(magnitude: float) -> bool:
        found = accuracies.interval(named.ranges, magnitude * factor)
        return found.most <= limit * factor if below else found.least >= limit * factor

    far, near = (0.0 if below else largest), limit
    if not told(far):
        return None
    for _again in range(_HALVINGS):
        middle = (far + near) / 2
        far, near = (middle, near) if told(middle) else (far, middle)
    return _towards(far, down=below)


def _towards(value: float, *, down: bool) -> float:
    """Return a value with three figures, rounded away from the limit."""
    if value == 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - 2)
    whole = value / step
    return (math.floor(whole + 1e-6) if down else math.ceil(whole - 1e-6)) * step


def row(one: Counted, on: date) -> dict[str, Any]:
    """Return a reading as the ledger keeps it: the limit in force, the verdict, the instrument."""
    judged = one.judged
    kept = {
        "quantity": judged.quantity,
        "value": judged.value,
        "unit": judged.unit,
        "min": judged.low,
        "max": judged.high,
        "source": judged.source,
        "passed": judged.passed,
    }
    if one.named is None:
        return kept
    return kept | {
        "uncertainty": one.off,
        "verdict": one.verdict,
        "instrument": _instrument(one.named, on),
    }


def _instrument(named: Named, on: date) -> dict[str, Any]:
    """Return the instrument as it was then."""
    one = named.instrument
    return {
        "number": one.pk,
        "name": one.name,
        "make_model": one.make_model,
        "serial": one.serial,
        "calibrated_on": one.calibrated_on.isoformat() if one.calibrated_on else "",
        "due_on": one.due_on.isoformat() if one.due_on else "",
        "overdue": one.overdue(on),
    }
