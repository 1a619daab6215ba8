"""Parts that jobs wait for."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest
from ninja import Router, Schema

from shop.api.faces import person
from shop.jobs import queries

router = Router(tags=["backlog"])


class Outstanding(Schema):
    """A part that has not arrived."""

    job: int
    need: int
    spec: str
    required: bool
    ordered: bool
    since: datetime
    part: int | None
    quantity: int
    arrived: int


@router.get("backlog/parts/", response=list[Outstanding])
def parts(request: HttpRequest) -> list[dict[str, object]]:
    """List every outstanding part of the open jobs, longest wait first."""
    person(request)
    return queries.outstanding_parts()
