"""Estimates of a job."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router, Status
from pydantic import Field

from shop.api import schemas
from shop.api.app import on_job
from shop.api.once import Replay, once
from shop.estimates import services as estimate_services
from shop.estimates.services import SentEstimate
from shop.jobs import queries

router = Router(tags=["estimates"])

Amount = Annotated[Decimal, Field(ge=0, max_digits=12, decimal_places=4)]


class EstimateLineIn(schemas.Strict):
    """A line: hours of labour, pieces of a part, or something else, at a price without tax."""

    sort: Literal["labour", "part", "other"] = "labour"
    words: str = Field(min_length=1, max_length=500)
    quantity: Annotated[Decimal, Field(ge=0, max_digits=9, decimal_places=3)] = Decimal(1)
    price: Amount
    tax_rate: Annotated[Decimal, Field(ge=0, le=100, max_digits=5, decimal_places=2)] = Decimal(0)
    # The ledger row of the part need that it covers, and the kind of work.
    need: int | None = Field(None, ge=1, le=10**9)
    work: str = Field("", max_length=40)


class EstimateIn(schemas.Strict):
    """A version to be sent."""

    words: str = ""
    lines: list[EstimateLineIn] = Field(min_length=1, max_length=estimate_services.MOST_LINES)


class EstimateOut(schemas.Strict):
    """A version that was sent; amounts as text, exact. `answer` is sent while there is none."""

    version: int
    sent_at: datetime
    currency: str
    words: str
    lines: list[EstimateLineIn]
    net: str
    tax: str
    total: str
    answer: Literal["sent", "yes", "no", "question"]


@router.get("jobs/{int:number}/estimates/", response={200: list[EstimateOut], 404: schemas.Reason})
def estimates(request: HttpRequest, number: int) -> list[dict[str, Any]]:
    """List the versions that were sent, newest first."""
    record = queries.record_of(on_job(request, number).job)
    return [_version(version) for version in estimate_services.sent_estimates(record)]


def _version_now(replay: Replay) -> dict[str, Any]:
    """Return the version with the answer that it has by now."""
    record = queries.record_of(queries.job(replay.given["number"], timezone.now()))
    sent = estimate_services.sent_estimates(record)
    return _version(next(one for one in sent if one.estimate.version == replay.kept))


@router.post("jobs/{int:number}/estimates/", response={201: EstimateOut, **schemas.REFUSALS})
@once(kept=lambda version: version["version"], again=_version_now)
def send(request: HttpRequest, number: int, payload: EstimateIn) -> Status[dict[str, Any]]:
    """Send a version to the customer; at or under their limit it is agreed at once."""
    by, job, now = on_job(request, number, "note")
    estimate_services.get_or_create_draft(number, by=by, at=now)
    estimate_services.save_draft(
        number, payload.words, [line.dict() for line in payload.lines], by=by
    )
    estimate_services.send_draft(number, by=by, at=now)
    return Status(201, _version(estimate_services.sent_estimates(queries.record_of(job))[0]))


def _version(version: SentEstimate) -> dict[str, Any]:
    estimate, totals = version.estimate, version.estimate.totals()
    return {
        "version": estimate.version,
        "sent_at": estimate.sent_at,
        "currency": estimate.currency,
        "words": estimate.words,
        "lines": list(estimate.lines.all()),
        "net": f"{totals.net:f}",
        "tax": f"{totals.gross - totals.net:f}",
        "total": f"{totals.gross:f}",
        "answer": version.answer,
    }
