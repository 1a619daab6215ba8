"""Search."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from ninja import Router

from shop.api import schemas
from shop.api.app import person
from shop.search import queries as search_queries

router = Router(tags=["search"])
LONGEST_QUERY = 200


class Found(schemas.Strict):
    """What a search found, best first; `instead` says which words were taken for which others."""

    jobs: list[schemas.JobOut]
    instead: dict[str, list[str]]


@router.get("search/", response=Found)
def search(request: HttpRequest, q: str = "") -> dict[str, Any]:
    """Find jobs by words of units, complaints, findings, notes and parts; slips are forgiven."""
    person(request)
    result = search_queries.search_jobs(q[:LONGEST_QUERY])
    return {"jobs": result.jobs, "instead": result.corrections}
