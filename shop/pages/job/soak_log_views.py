"""Which instruments log the soak of a job by themselves."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from shop.accounts.roles import signed_in
from shop.jobs import soaking
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.text import whole
from shop.meters import soak_logs
from shop.pages.job.proof_views import soak_page


def _refused(
    request: HttpRequest, job: Job, now: datetime, *, error: Exception | None = None
) -> HttpResponse:
    return soak_page(request, job, now, refused=str(error or ""))


@require_POST
@job_page("record", on_error=_refused)
def soak_log(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Choose what logs each quantity, or let a person read it."""
    chosen = {
        quantity: whole(typed) or typed
        for quantity in soaking.MEASURES
        if (typed := request.POST.get(f"log-{quantity}")) is not None
    }
    soak_logs.choose(job, chosen, by=signed_in(request), at=now)
    messages.success(request, "Kept: what logs this soak.")
    return redirect("soak", job.number)
