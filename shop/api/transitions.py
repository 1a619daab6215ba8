"""Power, cover, stage."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from django.http import HttpRequest
from ninja import Router

from shop.api import schemas
from shop.api.app import on_job
from shop.api.jobs import job_now
from shop.api.once import Replay, once
from shop.jobs import commands
from shop.jobs.models import Job
from shop.jobs.stages import Power

router = Router(tags=["transitions"])
_ANSWERS = {200: schemas.JobOut, **schemas.REFUSALS}


def _once(word: str, at_once: Callable[[dict[str, Any]], bool] = lambda given: False) -> Any:
    """A move is done once; its replay is refused when the job has moved on since."""

    def again(replay: Replay) -> Job:
        job, asked = job_now(replay), replay.given["payload"].to
        now = str(getattr(job, word))
        if now != asked:
            raise replay.overtaken(f"By now {word} is {now}, not {asked}. Nothing was done again.")
        return job

    return once(kept=lambda job: job.number, again=again, at_once=at_once)


def _takes_away(given: dict[str, Any]) -> bool:
    """Mains off waits for no key; one that is sent again says nothing of mains that came on since."""
    return bool(given["payload"].to == Power.ISOLATED)


def _transition(request: HttpRequest, number: int, to: str, command: Callable[..., Job]) -> Job:
    by, job, now = on_job(request, number)
    return command(job.number, to, by=by, at=now)


@router.post("jobs/{int:number}/power/", response=_ANSWERS)
@_once("power", at_once=_takes_away)
def power(request: HttpRequest, number: int, payload: schemas.PowerIn) -> Job:
    """Apply limited or full power, or take mains off: that is never refused."""
    command = partial(commands.set_power, seen=payload.seen)
    return _transition(request, number, payload.to, command)


def _still_doubted(replay: Replay) -> Job:
    job = job_now(replay)
    if not job.unplug_due:
        raise replay.overtaken("By now its plug is recorded as out. Nothing was done again.")
    return job


@router.post("jobs/{int:number}/plug/doubted/", response=_ANSWERS)
@once(kept=lambda job: job.number, again=_still_doubted, at_once=lambda given: True)
def plug_doubted(request: HttpRequest, number: int) -> Job:
    """Treat the unit as live: its plug is in after all, or nobody is sure. 409 when it is live already."""
    by, job, now = on_job(request, number)
    return commands.doubt_plug(job.number, by=by, at=now)


@router.post("jobs/{int:number}/cover/", response=_ANSWERS)
@_once("cover")
def cover(request: HttpRequest, number: int, payload: schemas.CoverIn) -> Job:
    """Take the cover off or put it on."""
    return _transition(request, number, payload.to, commands.set_cover)


@router.post("jobs/{int:number}/stage/", response=_ANSWERS)
@_once("stage")
def stage(request: HttpRequest, number: int, payload: schemas.StageIn) -> Job:
    """Move the job to another stage."""
    return _transition(request, number, payload.to, commands.set_stage)
