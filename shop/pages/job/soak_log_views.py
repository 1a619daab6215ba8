"""The soak of a job from its card: its start, its end, and what logs it by itself."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from checklists.engine.judging import PASS
from shop.accounts.roles import signed_in
from shop.bench.electrical import soak
from shop.jobs import commands, queries, soaking
from shop.jobs.decorators import job_page
from shop.jobs.events.soak_started import SoakStarted
from shop.jobs.models import Job
from shop.jobs.next_act import Act
from shop.lib.refusals import refuse
from shop.lib.text import whole
from shop.meters import soak_logs
from shop.pages.job import going_on, shared_card
from shop.pages.job.proof_views import soak_page
from shop.pages.job.views import done, given, page


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
def start(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Start the soak; first the step that is last before it, or the move to it, where that is due.

    With `log` an instrument reads its hottest metal.
    """
    by = signed_in(request)
    act = queries.Traveller.of(job).next_act(now)
    if SoakStarted.event_type not in (
        going_on.name_of(act),
        act.then and going_on.name_of(act.then),
    ):
        raise refuse("not-now", _("The soak does not start now: the card says what comes first."))
    if act.key and not (request.POST.get("step") == act.key and request.POST.get("substance")):
        # The page did not show the step that would be signed.
        raise refuse("stale", _("A step comes before the soak now. Read it, then start the soak."))
    with transaction.atomic():
        _start(request, job, act, by, now)
    if "log" in request.POST:
        return done(request, job, now, _("The soak runs, and is read by itself."))
    return done(request, job, now, _("The soak runs."))


def _start(request: HttpRequest, job: Job, act: Act, by: User, now: datetime) -> None:
    if "log" in request.POST:
        # First what may be refused though the unit is ready: the instrument hangs in another one.
        typed = request.POST["log"]
        soak_logs.choose(job, {soak.SINK: whole(typed) or typed or "none"}, by=by, at=now)
    commands.start_soak(job.number, act.key, given(request.POST), by=by, at=now)


@require_POST
@job_page("record", on_error=page)
def ran_well(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """End the soak, and sign what the card has with it."""
    act = queries.Traveller.of(job).next_act(now)
    if act.then is None or act.then.act != "sign":
        raise refuse("not-now", _("The soak does not end now: the card says what comes first."))
    also = request.POST.getlist("also")
    steps = [(key, given(shared_card.own(request.POST, key))) for key in also]
    ended = commands.end_soak_well(job.number, steps, by=signed_in(request), at=now)
    if ended.data["result"] != PASS:
        return done(request, job, now, _("The soak failed by its readings."))
    return done(request, job, now, _("It ran well: signed.") if also else _("It ran well."))
