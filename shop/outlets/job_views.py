"""The page of a job about the outlet that its plug is in."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import signed_in
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import quoted, whole
from shop.outlets import claims, labels, queries, readings
from shop.outlets.models import Outlet


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    **_: str,
) -> HttpResponse:
    outlet = queries.of_job(job)
    reported = queries.now_of(outlet, now) if outlet else queries.Now()
    context = {
        "job": job,
        "outlet": outlet,
        "now": reported,
        "held": queries.held_for(outlet, reported) if outlet else "",
        "draws_power": bool(outlet and queries.draws_power(outlet, reported)),
        "offers": readings.offers(outlet, job, reported) if outlet else [],
        "others": Outlet.objects.exclude(claimed_by_job=job),
        "code": request.POST.get("code", ""),
        "refused": str(error or ""),
    }
    return render(request, "outlets/job_outlet.html", context)


@require_GET
@job_page("read")
def job_outlet(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job, now)


@require_POST
@job_page("move", on_error=_page)
def job_outlet_claim(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Claim the outlet whose label was scanned, or that was chosen by its name."""
    code = request.POST.get("code", "").strip()
    number = labels.number_of(code) or whole(request.POST.get("outlet", ""))
    if number is None or not Outlet.objects.filter(pk=number).exists():
        said = _("code is {code}; it must be the label of an outlet of this shop.").format(
            code=quoted(code)
        )
        raise bad("code", said if code else _("code is empty; scan the label of the outlet."))
    messages.info(request, claims.claim(number, job.number, by=signed_in(request), at=now))
    return redirect("job-outlet", job.number)


@require_POST
@job_page("record", on_error=_page)
def job_outlet_reading(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Record a figure that the outlet measured."""
    outlet = queries.of_job(job)
    if outlet is None:
        raise bad(
            "outlet",
            _("Job {number} claims no outlet; scan its label first.").format(number=job.number),
        )
    given = request.POST
    said = readings.take(
        outlet,
        job,
        given.get("quantity", ""),
        given.get("value", ""),
        given.get("proof", ""),
        by=signed_in(request),
        at=now,
    )
    messages.success(request, said)
    return redirect("job-outlet", job.number)
