"""The ledger: write what happened, read what did."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router, Status

from shop.api import shapes
from shop.api.faces import person
from shop.jobs import commands, queries

router = Router(tags=["ledger"])


@router.post(
    "jobs/{int:number}/ledger/",
    response={
        201: shapes.RowOut,
        403: shapes.Said,
        404: shapes.Said,
        409: shapes.Refusal409,
        422: shapes.Refusal422,
    },
)
def write(request: HttpRequest, number: int, payload: shapes.RowIn) -> Status[dict[str, Any]]:
    """Record a fact, finding, trial, suspect, work, part, soak event or note."""
    caller = person(request)
    now = timezone.now()
    job = queries.job(number, now)
    row = commands.record(job.number, payload.kind, payload.data, by=caller, at=now)
    return Status(201, shapes.row_out(row))


@router.get("jobs/{int:number}/ledger/", response={200: list[shapes.RowOut], 404: shapes.Said})
def read(request: HttpRequest, number: int) -> list[dict[str, Any]]:
    """Return all rows, oldest first."""
    person(request)
    job = queries.job(number, timezone.now())
    return [shapes.row_out(row) for row in queries.rows_of(job)]
