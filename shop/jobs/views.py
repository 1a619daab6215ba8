"""Pages of jobs: the list, and a ledger."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, TypeVar

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.accounts.roles import may, needs
from shop.jobs import events, ledger, ledger_words, queries
from shop.jobs.decorators import job_page
from shop.jobs.filters import JobFilter
from shop.jobs.live_units import live_units
from shop.jobs.models import Job
from shop.jobs.tables import JobTable
from shop.lib.web import htmx, kept, table_files

ROWS_PER_PAGE = 100
T = TypeVar("T")


@require_GET
@needs("read")
def live_line(request: HttpRequest) -> HttpResponse:
    """The line of live units, or nothing when it is as the page has `seen` it."""
    if request.GET.get("seen") == live_units().mark:
        return HttpResponse(status=204)
    return render(request, "live_line.html")


@require_GET
@needs("read")
def job_list(request: HttpRequest) -> HttpResponse:
    filters = JobFilter(request.GET, queries.jobs(timezone.now()))
    table = JobTable(filters.qs)
    if file := table_files.asked(request, table, "jobs", rows_per_page=30):
        return file
    context = {"table": table, "filters": filters}
    return htmx.page(request, "jobs/list.html", "jobs/_list.html", context)


@require_GET
@job_page("read")
def job_ledger(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Every row, newest first; with `hashes=yes` also what it is checked by."""
    stored = ledger.stored(job.number)
    place = _paged(stored, request.GET.get("page")).number
    values = {
        "number": job.number,
        "head": job.head,
        "stored": tuple(map(tuple, stored)),
        "place": place,
        "hashes": request.GET.get("hashes") == "yes",
        "can_withdraw": may(request.user, "record") and not job.closed,
    }
    sheet = kept.part("jobs/_ledger_sheet.html", values, lambda: _sheet(job, stored, place))
    return render(request, "jobs/ledger.html", {"job": job, "sheet": sheet})


def _paged(rows: Sequence[T], number: int | str | None) -> Page[T]:
    return Paginator(rows[::-1], ROWS_PER_PAGE).get_page(number)


def _sheet(job: Job, stored: ledger.Stored, place: int) -> dict[str, Any]:
    """Return what the sheet shows of the rows; of the job it takes number and head."""
    rows = ledger.rows_of(job.number, stored)
    page = _paged(rows, place)
    record = events.reduce(job, rows)
    return {
        "page": page,
        "entries": ledger_words.entries(list(page.object_list), record),
        "faults": ledger.faults(rows, job.head),
    }
