"""The ledger: write what happened, read what did."""

from __future__ import annotations

from django.http import HttpRequest
from ninja import Router, Status

from shop.api import schemas
from shop.api.app import on_job
from shop.api.once import Replay, once
from shop.jobs import commands, queries
from shop.jobs.models import LedgerRow

router = Router(tags=["ledger"])


def _row_again(replay: Replay) -> LedgerRow:
    """Return the row: what is in the ledger does not change."""
    return LedgerRow.objects.get(job=replay.given["number"], sequence=replay.kept)


@router.post(
    "jobs/{int:number}/ledger/",
    response={201: schemas.RowOut, **schemas.REFUSALS},
)
@once(kept=lambda row: row.sequence, again=_row_again)
def write(request: HttpRequest, number: int, payload: schemas.RowIn) -> Status[LedgerRow]:
    """Record a fact, finding, trial, suspect, work, part, soak event or note."""
    by, job, now = on_job(request, number)
    row = commands.record(job.number, payload.kind, payload.data, by=by, at=now, seen=payload.seen)
    return Status(201, row)


@router.get("jobs/{int:number}/ledger/", response={200: list[schemas.RowOut], 404: schemas.Reason})
def read(request: HttpRequest, number: int) -> list[LedgerRow]:
    """Return all rows, oldest first."""
    return queries.rows_of(on_job(request, number).job)
