"""Power, cover, stage."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router

from shop.api import schemas
from shop.api.app import person
from shop.jobs import commands, queries
from shop.jobs.models import Job

router = Router(tags=["moves"])
_ANSWERS = {
    200: schemas.JobOut,
    403: schemas.Said,
    404: schemas.Said,
    409: schemas.Refusal409,
    422: schemas.Refusal422,
}


def _move(request: HttpRequest, number: int, to: str, door: Callable[..., Job]) -> dict[str, Any]:
    caller = person(request)
    now = timezone.now()
    return schemas.job_out(door(queries.job(number, now).number, to, by=caller, at=now))


@router.post("jobs/{int:number}/power/", response=_ANSWERS)
def power(request: HttpRequest, number: int, payload: schemas.MoveIn) -> dict[str, Any]:
    """Apply limited or full power, or take mains off: that is never refused."""
    return _move(request, number, payload.to, commands.set_power)


@router.post("jobs/{int:number}/cover/", response=_ANSWERS)
def cover(request: HttpRequest, number: int, payload: schemas.MoveIn) -> dict[str, Any]:
    """Take the cover off or put it on."""
    return _move(request, number, payload.to, commands.set_cover)


@router.post("jobs/{int:number}/stage/", response=_ANSWERS)
def stage(request: HttpRequest, number: int, payload: schemas.MoveIn) -> dict[str, Any]:
    """Move the job to another stage."""
    return _move(request, number, payload.to, commands.set_stage)
