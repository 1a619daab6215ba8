"""Power, cover, stage."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest
from ninja import Router

from shop.api import schemas
from shop.api.app import on_job
from shop.jobs import commands
from shop.jobs.models import Job

router = Router(tags=["transitions"])
_ANSWERS = {200: schemas.JobOut, **schemas.REFUSALS}


def _transition(request: HttpRequest, number: int, to: str, command: Callable[..., Job]) -> Job:
    by, job, now = on_job(request, number)
    return command(job.number, to, by=by, at=now)


@router.post("jobs/{int:number}/power/", response=_ANSWERS)
def power(request: HttpRequest, number: int, payload: schemas.MoveIn) -> Job:
    """Apply limited or full power, or take mains off: that is never refused."""
    return _transition(request, number, payload.to, commands.set_power)


@router.post("jobs/{int:number}/cover/", response=_ANSWERS)
def cover(request: HttpRequest, number: int, payload: schemas.MoveIn) -> Job:
    """Take the cover off or put it on."""
    return _transition(request, number, payload.to, commands.set_cover)


@router.post("jobs/{int:number}/stage/", response=_ANSWERS)
def stage(request: HttpRequest, number: int, payload: schemas.MoveIn) -> Job:
    """Move the job to another stage."""
    return _transition(request, number, payload.to, commands.set_stage)
