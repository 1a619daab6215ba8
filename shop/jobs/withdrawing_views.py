"""An entry that was wrong is withdrawn, with a reason, from wherever a technician sees it."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import signed_in
from shop.jobs import commands, events, ledger_words, queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError
from shop.lib.web.ways_back import way_back, way_on


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    row: int,
    error: UserFacingError | None = None,
) -> HttpResponse:
    context = {
        "job": job,
        "entry": _entry(job, row, now),
        "refused": error,
        "reason": request.POST.get("reason", ""),
        "back": way_on(request) if request.method == "POST" else way_back(request),
    }
    return render(request, "jobs/withdraw_entry.html", context)


def _entry(job: Job, sequence: int, now: datetime) -> ledger_words.Entry:
    rows = queries.rows_of(job)
    found = [row for row in rows if row.sequence == sequence]
    if not found:
        raise Http404(
            _("Job {number} has no row {sequence}.").format(number=job.number, sequence=sequence)
        )
    return ledger_words.entries(found, events.reduce(job, rows, now=now))[0]


@require_http_methods(["GET", "POST"])
@job_page("record", on_error=_page)
def withdraw_entry(request: HttpRequest, job: Job, now: datetime, row: int) -> HttpResponse:
    """Show the entry and what follows, and withdraw it with the reason that was typed."""
    if request.method != "POST":
        return _page(request, job, now, row=row)
    entry = _entry(job, row, now)
    data = {"row": row, "reason": request.POST.get("reason", "")}
    commands.record(job.number, "entry_withdrawn", data, by=signed_in(request), at=now)
    said = _("Withdrawn: {heading}, {words}.").format(heading=entry.heading, words=entry.words)
    messages.success(request, said)
    return redirect(way_on(request) or job.get_absolute_url())
