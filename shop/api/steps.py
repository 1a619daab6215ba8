"""Steps: sign, waive."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from ninja import Router

from shop.api import schemas
from shop.api.app import on_job
from shop.jobs import commands

router = Router(tags=["steps"])
_ANSWERS = {200: dict[str, Any], **schemas.REFUSALS}


@router.post("jobs/{int:number}/steps/{key}/sign/", response=_ANSWERS)
def sign(request: HttpRequest, number: int, key: str, payload: schemas.SignIn) -> dict[str, Any]:
    """Sign a step, with what it asks for. A reading outside its limits turns a pass into a fail."""
    by, job, now = on_job(request, number, "sign")
    step = commands.sign(
        job.number,
        key,
        result=payload.result,
        readings=[(reading.quantity, reading.value) for reading in payload.readings],
        answers=[(answer.fact, answer.value) for answer in payload.answers],
        note=payload.note,
        content_hash=payload.substance,
        seen=payload.seen,
        by=by,
        at=now,
    )
    return schemas.step_out(step)


@router.post("jobs/{int:number}/steps/{key}/waive/", response=_ANSWERS)
def waive(request: HttpRequest, number: int, key: str, payload: schemas.WaiveIn) -> dict[str, Any]:
    """Waive a step with a reason, where the pack lets this role do so."""
    by, job, now = on_job(request, number, "sign")
    return schemas.step_out(commands.waive(job.number, key, reason=payload.reason, by=by, at=now))
