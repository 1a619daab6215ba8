"""The job's page, and what is done on it."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from checklists.engine.vocabulary import VOCABULARY
from shop.accounts.roles import signed_in
from shop.jobs import commands, events, forms, queries
from shop.jobs.decorators import job_page
from shop.jobs.facts import value_from_text
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web import htmx
from shop.lib.web.forms import cleaned
from shop.pages.job.presenting import sheet


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    event_type: str = "",
    **_: str,
) -> HttpResponse:
    """Show the sheet; after an error with what was typed into the step or the form of the event."""
    form_class = events.find(event_type).form if error else None
    context = sheet(
        queries.Traveller.of(job),
        now,
        typed=request.POST if error else QueryDict(),
        form=form_class(request.POST) if form_class else None,
    )
    context["refused"] = str(error or "")
    return htmx.page(request, "pages/job/job.html", "pages/job/_job.html", context)


def _done(request: HttpRequest, job: Job, now: datetime, sentence: str) -> HttpResponse:
    """Say what was done, and show the sheet as it is after it."""
    messages.success(request, sentence)
    if htmx.wants_fragment(request):
        return _page(request, queries.job(job.number, timezone.now()), now)
    # The page it was typed on, out of the few that record for a job.
    after = request.POST.get("next", "")
    return redirect(after if after in ("trials", "soak") else "job", job.number)


@require_GET
@job_page("read")
def show(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job, now)


@require_POST
@job_page("sign", on_error=_page)
def sign(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    signed = commands.sign(
        job.number,
        key,
        result=request.POST.get("result", ""),
        readings=forms.readings_from(request.POST),
        answers=forms.answers_from(request.POST),
        note=request.POST.get("note", ""),
        content_hash=request.POST.get("substance", ""),
        seen=whole(request.POST.get("seen", "")),
        by=signed_in(request),
        at=now,
    )
    if signed.state == "failed" and request.POST.get("result") == "pass":
        outcome = "recorded as failed, a reading lies outside its limit"
    else:
        outcome = signed.state
    return _done(request, job, now, f"{signed.step.title}: {outcome}.")


@require_POST
@job_page("sign", on_error=_page)
def waive(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    reason = request.POST.get("reason", "")
    look = whole(request.POST.get("look", ""))
    waived = commands.waive(
        job.number, key, reason=reason, look=look, by=signed_in(request), at=now
    )
    return _done(request, job, now, f"{waived.step.title}: waived.")


@require_POST
@job_page("isolate", on_error=_page)
def power(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    to = request.POST.get("to", "")
    seen = whole(request.POST.get("seen", ""))
    moved = commands.set_power(job.number, to, by=signed_in(request), at=now, seen=seen)
    off = moved.power == Power.ISOLATED
    return _done(request, job, now, "Mains is off." if off else f"Mains is on: {moved.power}.")


@require_POST
@job_page("move", on_error=_page)
def cover(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    to = request.POST.get("to", "")
    moved = commands.set_cover(job.number, to, by=signed_in(request), at=now)
    return _done(request, job, now, f"The cover is {moved.cover}.")


@require_POST
@job_page("move", on_error=_page)
def stage(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    to = request.POST.get("to", "")
    moved = commands.set_stage(job.number, to, by=signed_in(request), at=now)
    return _done(request, job, now, f"The job is {str(moved.stage).replace('_', ' ')}.")


@require_POST
@job_page("move", on_error=_page)
def join(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    other = whole(request.POST.get("job", ""))
    if other is None:
        raise bad("job", "job is missing; name the job of this unit that is to be closed.")
    commands.join(queries.job(other, now).number, job.number, by=signed_in(request), at=now)
    return _done(request, job, now, f"Job {other} is closed; this one goes on.")


@require_POST
@job_page("note", on_error=_page)
def record(request: HttpRequest, job: Job, now: datetime, event_type: str) -> HttpResponse:
    form_class = events.find(event_type).form
    form = form_class(request.POST) if form_class else None
    if form:
        cleaned(form)
    data = form.data_for_row() if form else {}
    commands.record(job.number, event_type, data, by=signed_in(request), at=now)
    return _done(request, job, now, f"Recorded: {event_type.replace('_', ' ')}.")


@require_POST
@job_page("record", on_error=_page)
def facts(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    name = request.POST.get("name", "")
    typed = " ".join(request.POST.getlist("value"))
    if name in VOCABULARY and not typed.strip():
        raise bad(name, f"{name} is empty; choose or type a value.")
    data = {"name": name, "value": value_from_text(name, typed)}
    commands.record(job.number, "fact_recorded", data, by=signed_in(request), at=now)
    return _done(request, job, now, f"Recorded: {name}.")
