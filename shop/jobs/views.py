"""Pages of jobs: the list, and a ledger."""

from __future__ import annotations

from datetime import datetime

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.jobs import events, ledger, ledger_words, queries
from shop.jobs.decorators import job_page
from shop.jobs.filters import JobFilter
from shop.jobs.live_units import live_units
from shop.jobs.models import Job
from shop.jobs.tables import JobTable
from shop.lib.web import htmx, table_files

ROWS_PER_PAGE = 100


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
    rows = queries.rows_of(job)
    page = Paginator(rows[::-1], ROWS_PER_PAGE).get_page(request.GET.get("page"))
    record = events.reduce(job, rows, now=now)
    context = {
        "job": job,
        "page": page,
        "entries": ledger_words.entries(list(page.object_list), record),
        "faults": ledger.faults(rows, job.head),
        "hashes": request.GET.get("hashes") == "yes",
    }
    return render(request, "jobs/ledger.html", context)
