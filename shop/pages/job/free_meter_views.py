"""Reading a meter for a job without a step: for the soak, or by a name of its own."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.timezone import localdate
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from checklists.engine.words import METERED
from shop.accounts.roles import signed_in
from shop.bench.units import spoken
from shop.instruments.queries import offers
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.calculator_words import calculated
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web import htmx
from shop.meters import claims, free_readings


def _page(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError | None = None
) -> HttpResponse:
    given = request.POST if request.method == "POST" else request.GET
    asked = free_readings.asked_for(job.number, whole(given.get("asked", "")) or 0, now)
    wanted = offers(sorted(METERED), by=None, on=localdate(now))
    context: dict[str, Any] = {
        "job": job,
        "offers": [offer for offer in wanted if offer.connected],
        "asked": asked,
        "typed": given.get("name", ""),
        "for_soak": [
            (name, calculated(spoken(name)))
            for name in free_readings.soak_quantities(job, asked.measures)
        ]
        if asked and asked.value is not None
        else [],
        "claimed": claims.of(job, now),
        "refused": str(error or ""),
    }
    return htmx.page(request, "pages/job/meter.html", "pages/job/_free_meter.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@job_page("record", on_error=_page)
def job_meter(request: HttpRequest, job: Job, now: datetime) -> HttpResponseBase:
    """Ask, look again, record, or let an instrument go."""
    if request.method != "POST":
        return _page(request, job, now)
    by = signed_in(request)
    if "read" in request.POST:
        measures, _, number = request.POST["read"].rpartition(":")
        made = free_readings.ask(job.number, measures, whole(number) or 0, by=by, at=now)
        return redirect(f"{reverse('job-meter', args=[job.number])}?asked={made.pk}")
    if "release" in request.POST:
        claims.release(whole(request.POST["release"]) or 0, job)
        return redirect("job-meter", job.number)
    _record(request, job, now)
    return redirect("job-meter", job.number)


def _record(request: HttpRequest, job: Job, now: datetime) -> None:
    asked = free_readings.asked_for(job.number, whole(request.POST.get("asked", "")) or 0, now)
    if asked is None:
        raise bad("asked", _("asked names no reading of this job; read the meter again."))
    name = request.POST.get("as") or request.POST.get("name", "")
    with transaction.atomic():
        free_readings.record(job, asked, name, by=signed_in(request), at=now)
    messages.success(request, _("Recorded: {what}.").format(what=calculated(spoken(name))))
