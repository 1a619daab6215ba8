"""Steps: sign, waive."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router

from shop.api import shapes
from shop.api.faces import person
from shop.jobs import commands, queries

router = Router(tags=["steps"])
_ANSWERS = {
    200: dict[str, Any],
    403: shapes.Said,
    404: shapes.Said,
    409: shapes.Refusal409,
    422: shapes.Refusal422,
}


@router.post("jobs/{int:number}/steps/{key}/sign/", response=_ANSWERS)
def sign(request: HttpRequest, number: int, key: str, payload: shapes.SignIn) -> dict[str, Any]:
    """Sign a step. A reading outside its limits turns a pass into a fail."""
    caller = person(request, "sign")
    now = timezone.now()
    job = queries.job(number, now)
    step = commands.sign(
        job.number,
        key,
        result=payload.result,
        readings=[(reading.quantity, reading.value) for reading in payload.readings],
        note=payload.note,
        substance=payload.substance,
        seen=payload.seen,
        by=caller,
        at=now,
    )
    return shapes.step_out(step)


@router.post("jobs/{int:number}/steps/{key}/waive/", response=_ANSWERS)
def waive(request: HttpRequest, number: int, key: str, payload: shapes.WaiveIn) -> dict[str, Any]:
    """Waive a step with a reason, where the pack lets this role do so."""
    caller = person(request, "sign")
    now = timezone.now()
    job = queries.job(number, now)
    return shapes.step_out(
        commands.waive(job.number, key, reason=payload.reason, by=caller, at=now)
    )
