"""Which instruments log the soak of a job by themselves."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from shop.accounts.roles import signed_in
from shop.bench.electrical import soak
from shop.jobs import commands, queries, soaking
from shop.jobs.decorators import job_page
from shop.jobs.events.soak_started import SoakStarted
from shop.jobs.models import Job
from shop.lib.refusals import refuse
from shop.lib.text import whole
from shop.meters import soak_logs
from shop.pages.job import going_on
from shop.pages.job.proof_views import soak_page
from shop.pages.job.views import done, page


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
    messages.success(request, _("Kept: what logs this soak."))
    return redirect("soak", job.number)


@require_POST
@job_page("record", on_error=page)
def start_logged(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Start the soak, its hottest metal logged by an instrument; first the move to it where that is due."""
    by = signed_in(request)
    typed = request.POST.get("log", "")
    act = queries.Traveller.of(job).next_act(now)
    if SoakStarted.event_type not in (
        going_on.name_of(act),
        act.then and going_on.name_of(act.then),
    ):
        raise refuse("not-now", _("The soak does not start now: the card says what comes first."))
    # First what may be refused though the unit is ready: the instrument hangs in another one.
    soak_logs.choose(job, {soak.SINK: whole(typed) or typed or "none"}, by=by, at=now)
    if act.act == "stage":
        commands.set_stage(job.number, act.to, by=by, at=now)
    commands.record(job.number, SoakStarted.event_type, {}, by=by, at=now)
    return done(request, job, now, _("The soak runs, and is read by itself."))
