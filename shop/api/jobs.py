"""Jobs: take in, list, look at."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from ninja import Router, Status

from shop.api import derived, schemas
from shop.api.app import on_job, person
from shop.api.once import Replay, once
from shop.customers import correcting
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import commands, queries
from shop.jobs.models import Job

router = Router(tags=["jobs"])
MOST_LISTED = 1000


def job_now(replay: Replay) -> Job:
    """Return the job as it is now."""
    return queries.job(replay.kept, timezone.now())


_once = once(kept=lambda job: job.number, again=job_now)


@router.post(
    "jobs/",
    response={
        201: schemas.JobOut,
        403: schemas.Reason,
        409: schemas.Refusal409,
        422: schemas.Refusal422,
    },
)
@_once
def receive(request: HttpRequest, payload: schemas.JobIn) -> Status[Job]:
    """Take a unit in. Facts that are left out stay unknown and keep their steps.

    A unit that has an open job is refused; with `join` it is written to that job.
    """
    job = intake_services.receive(
        by=person(request, "receive"),
        at=timezone.now(),
        make=payload.unit.make,
        model=payload.unit.model,
        serial=payload.unit.serial,
        complaint=payload.complaint.text if payload.complaint else "",
        facts=payload.facts,
        reference=payload.reference,
        arrived_open=payload.arrived_open,
        join=payload.join,
        details=IntakeDetails(**payload.customer.model_dump()) if payload.customer else None,
    )
    return Status(201, job)


@router.get("jobs/", response={200: list[schemas.JobOut], 422: schemas.Refusal422})
def listing(
    request: HttpRequest,
    stage: schemas.StageWord | None = None,
    power: schemas.PowerWord | None = None,
    waiting_on: schemas.WaitingWord | None = None,
    before: int | None = None,
    limit: int = 200,
) -> QuerySet[Job]:
    """List jobs, newest first; `before` continues below a job number."""
    person(request)
    asked = {"stage": stage, "power": power, "waiting": waiting_on}
    listed = queries.jobs(timezone.now()).filter(**{n: word for n, word in asked.items() if word})
    if before is not None:
        listed = listed.filter(pk__lt=before)
    return listed[: max(1, min(limit, MOST_LISTED))]


@router.get("jobs/{int:number}/", response={200: schemas.JobWithFacts, 404: schemas.Reason})
def job_detail(request: HttpRequest, number: int) -> Job:
    """Look at one job and the facts on record; what is absent is not known."""
    return on_job(request, number).job


@router.get("jobs/{int:number}/checklist/", response={200: dict[str, Any], 404: schemas.Reason})
def checklist(request: HttpRequest, number: int) -> dict[str, Any]:
    """Return the checklist as it stands, with the reason for every step."""
    job = on_job(request, number).job
    return derived.checklist_out(queries.Traveller.of(job).checklist)


@router.get("jobs/{int:number}/next/", response={200: dict[str, Any], 404: schemas.Reason})
def next_act(request: HttpRequest, number: int) -> dict[str, Any]:
    """Return the one thing to do now: `act`, `title`, `why`, and what belongs to this act."""
    _, job, now = on_job(request, number)
    return queries.Traveller.of(job).next_act(now).as_dict()


@router.patch("jobs/{int:number}/intake/", response={200: schemas.JobOut, **schemas.REFUSALS})
def correct_intake(request: HttpRequest, number: int, payload: schemas.IntakeCorrectionIn) -> Job:
    """Correct what was taken down at intake. A unit that has an open job already is refused."""
    by, job, now = on_job(request, number)
    unit = payload.unit.model_dump() if payload.unit else {}
    return correcting.correct_intake(
        job.number,
        by=by,
        at=now,
        customer=payload.customer.model_dump() if payload.customer else None,
        arrival=payload.arrival.model_dump() if payload.arrival else None,
        complaint=payload.complaint.text if payload.complaint else None,
        **unit,
    )


@router.post("jobs/{int:number}/join/", response={200: schemas.JobOut, **schemas.REFUSALS})
@_once
def join(request: HttpRequest, number: int, payload: schemas.JoinIn) -> Job:
    """Close a job into another open job of the same unit, which is returned."""
    by, job, now = on_job(request, number)
    other = queries.job(payload.into, now)
    return commands.join(job.number, other.number, by=by, at=now)
