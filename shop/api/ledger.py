"""The ledger: write what happened, read what did."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router, Status

from shop.api import schemas
from shop.api.app import person
from shop.jobs import commands, queries

router = Router(tags=["ledger"])


@router.post(
    "jobs/{int:number}/ledger/",
    response={
        201: schemas.RowOut,
        403: schemas.Said,
        404: schemas.Said,
        409: schemas.Refusal409,
        422: schemas.Refusal422,
    },
)
def write(request: HttpRequest, number: int, payload: schemas.RowIn) -> Status[dict[str, Any]]:
    """Record a fact, finding, trial, suspect, work, part, soak event or note."""
    caller = person(request)
    now = timezone.now()
    job = queries.job(number, now)
    row = commands.record(job.number, payload.kind, payload.data, by=caller, at=now)
    return Status(201, schemas.row_out(row))


@router.get("jobs/{int:number}/ledger/", response={200: list[schemas.RowOut], 404: schemas.Said})
def read(request: HttpRequest, number: int) -> list[dict[str, Any]]:
    """Return all rows, oldest first."""
    person(request)
    job = queries.job(number, timezone.now())
    return [schemas.row_out(row) for row in queries.rows_of(job)]
