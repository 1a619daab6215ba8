"""Steps: sign, waive."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router

from shop.api import derived, schemas
from shop.api.app import on_job
from shop.api.once import Replay, once
from shop.jobs import commands, queries

router = Router(tags=["steps"])
_ANSWERS = {200: dict[str, Any], **schemas.REFUSALS}


def _step_now(replay: Replay) -> dict[str, Any]:
    job = queries.job(replay.given["number"], timezone.now())
    step = queries.Traveller.of(job).checklist.by_key.get(replay.given["key"])
    if step is None:
        raise replay.overtaken("By now the step is not on the list.")
    return derived.step_out(step)


_once = once(kept=lambda step: None, again=_step_now)


@router.post("jobs/{int:number}/steps/{key}/sign/", response=_ANSWERS)
@_once
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
        instruments=payload.instruments,
        by=by,
        at=now,
    )
    return derived.step_out(step)


@router.post("jobs/{int:number}/steps/{key}/waive/", response=_ANSWERS)
@_once
def waive(request: HttpRequest, number: int, key: str, payload: schemas.WaiveIn) -> dict[str, Any]:
    """Waive a step with a reason, where the pack lets this role do so."""
    by, job, now = on_job(request, number, "sign")
    return derived.step_out(
        commands.waive(job.number, key, reason=payload.reason, look=payload.look, by=by, at=now)
    )
