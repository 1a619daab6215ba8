"""Instruments of the bench."""

from __future__ import annotations

from datetime import date

from django.http import HttpRequest
from ninja import Router

from shop.api import schemas
from shop.api.app import person
from shop.instruments.models import Instrument

router = Router(tags=["instruments"])


class InstrumentOut(schemas.Strict):
    """An instrument in use: what it measures, by the words that readings have, and its calibration."""

    number: int
    name: str
    make_model: str
    serial: str
    calibrated_on: date | None
    due_on: date | None
    measures: list[str]


@router.get("instruments/", response=list[InstrumentOut])
def instruments(request: HttpRequest) -> list[InstrumentOut]:
    """Return the instruments in use; a sign-off names one for what it measures."""
    person(request)
    in_use = Instrument.objects.filter(retired_at=None).prefetch_related("accuracies")
    return [_out(one) for one in in_use]


def _out(one: Instrument) -> InstrumentOut:
    return InstrumentOut(
        number=one.pk,
        name=one.name,
        make_model=one.make_model,
        serial=one.serial,
        calibrated_on=one.calibrated_on,
        due_on=one.due_on,
        measures=sorted({accuracy.measures for accuracy in one.accuracies.all()}),
    )
