"""What an earlier job of the same unit knew."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from ninja import Router, Status
from pydantic import Field

from shop.api import schemas, words
from shop.api.app import on_job
from shop.api.once import Replay, once
from shop.jobs import commands, earlier_facts, queries
from shop.jobs.models import LedgerRow

router = Router(tags=["jobs"])


class EarlierFactOut(schemas.Strict):
    """A fact as it was known; one that is not `as_built` can have changed and wants a look."""

    fact: str
    value: Any
    as_built: bool


class EarlierOut(schemas.Strict):
    """The last job of the unit, and what it knew that this one does not."""

    job: int | None
    facts: list[EarlierFactOut]


class TakeOverIn(schemas.Strict):
    """What to take over: all that is `as_built`, and what was looked at and is still so."""

    as_built: bool = True
    looked_at: list[words.FactName] = Field([], max_length=100)


@router.get("jobs/{int:number}/earlier-facts/", response={200: EarlierOut, 404: schemas.Reason})
def earlier(request: HttpRequest, number: int) -> EarlierOut:
    """Return what the last job of the unit knew and this one does not."""
    job = on_job(request, number).job
    before = earlier_facts.earlier_job(job)
    known = earlier_facts.offered(queries.record_of(job), before) if before else []
    facts = [EarlierFactOut(fact=o.name, value=o.value, as_built=o.as_built) for o in known]
    return EarlierOut(job=before.number if before else None, facts=facts)


def _again(replay: Replay) -> list[LedgerRow]:
    """Return the rows: what is in the ledger does not change."""
    rows = LedgerRow.objects.filter(job=replay.given["number"], sequence__in=replay.kept)
    return list(rows.order_by("sequence"))


@router.post(
    "jobs/{int:number}/earlier-facts/", response={201: list[schemas.RowOut], **schemas.REFUSALS}
)
@once(kept=lambda rows: [row.sequence for row in rows], again=_again)
def take_over(request: HttpRequest, number: int, payload: TakeOverIn) -> Status[list[LedgerRow]]:
    """Record what it knew, each row with that job as its source. What is on record here stays."""
    by, job, now = on_job(request, number)
    rows = commands.take_over_facts(
        job.number, as_built=payload.as_built, looked_at=payload.looked_at, by=by, at=now
    )
    return Status(201, rows)
