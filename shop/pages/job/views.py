"""The job's page: the next act, a chosen step, signing, mains, cover and stage."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from checklists.engine.checklist import ListedStep
from checklists.engine.judging import PASS
from shop.accounts.roles import needs, signed_in
from shop.jobs import commands, forms, queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.jobs.names import cover_name, power_name, stage_name
from shop.jobs.stages import CLOSED, Power
from shop.lib.pack_words import pack_text
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web import htmx
from shop.lib.web.confirming import unless_sure
from shop.lib.web.ways_back import way_back
from shop.messages import composing
from shop.pages.job import came_back, going_on, last_moves, rail, refusing, shared_card
from shop.pages.job.act_card import card

# Pages of a job that record something and are shown again afterwards.
_PAGES = ("trials", "soak", "job-list", "job-write", "job-unit", "job-parts", "causes")


def page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    key: str = "",
    late_row: int = 0,
    typed: QueryDict | None = None,
    meter: dict[str, Any] | None = None,
    **_: str,
) -> HttpResponse:
    """Show the act, or the step of this key; after an error with what was typed into it.

    `late_row` is a row that it is too late to undo. `typed` stands in the fields, and `meter` is
    the reading that an instrument is asked for.
    """
    traveller = queries.Traveller.of(job)
    if error:
        typed = request.POST
    context = card(traveller, now, key=key, typed=typed, by=signed_in(request))
    context |= {"meter": meter}
    return _shown(request, traveller, now, context | _told(request, error, late_row))


def _shown(
    request: HttpRequest, traveller: queries.Traveller, now: datetime, context: dict[str, Any]
) -> HttpResponse:
    undo = commands.undoable(traveller.record, by=signed_in(request), at=now)
    # The answer to a signature asks nothing for what most units have not: an earlier visit.
    looks = traveller.job.returned_from_id or not htmx.wants_fragment(request)
    back = came_back.on_arrival(traveller) if looks else None
    context = context | {"undo": undo, "came_back": back}
    return htmx.page(request, "pages/job/job.html", "pages/job/_job.html", context)


def _told(request: HttpRequest, error: UserFacingError | None, late_row: int) -> dict[str, Any]:
    """Return what the card says of an error, with the reason of a waiver as it was typed."""
    waiver = request.POST.get("reason", "") if error else ""
    return {"refused": refusing.shown(error), "late_row": late_row, "waiver": waiver}


def done(
    request: HttpRequest, job: Job, now: datetime, sentence: str, *, key: str = ""
) -> HttpResponse:
    """Say what was done, and show the page that it was done on as it is after it, or a step."""
    messages.success(request, sentence)
    after = request.POST.get("next", "")
    if htmx.wants_fragment(request):
        if after in _PAGES:
            return htmx.see_other(after, job.number)
        return page(request, queries.job(job.number, timezone.now()), now, key=key)
    if key:
        return redirect("step", job.number, key)
    if after == "back" and (path := way_back(request)):
        return redirect(path)
    return redirect(after if after in _PAGES else "job", job.number)


@require_GET
@job_page("read")
def show(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return page(request, job, now)


@require_GET
@job_page("read")
def step(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    """One step of the list, to be done now."""
    traveller = queries.Traveller.of(job)
    if key not in traveller.checklist.by_key:
        raise Http404(
            _("Job {number} has no step {key!r} on its list.").format(number=job.number, key=key)
        )
    return _shown(request, traveller, now, card(traveller, now, key=key, by=signed_in(request)))


@require_GET
@needs("read")
def open_jobs(request: HttpRequest) -> HttpResponse:
    """The open jobs, for the left of a wide page."""
    here = whole(request.GET.get("job", ""))
    return render(request, "pages/job/_rail.html", rail.open_jobs(timezone.now()) | {"here": here})


@require_POST
@job_page("sign", on_error=page)
def sign(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    question = last_moves.signing(job, key, request.POST.get("result", ""))
    if question and (asked := unless_sure(request, question)):
        return asked
    return done(request, job, now, _outcomes(request, _signed(request, job, now, key)))


def _signed(request: HttpRequest, job: Job, now: datetime, key: str) -> list[ListedStep]:
    """Sign the step; a pass signs the others of its card with it, a fail is of the first alone."""
    by, result = signed_in(request), request.POST.get("result", "")
    mine = given(request.POST)
    others = request.POST.getlist("also")
    if result != PASS or not others:
        return [commands.sign(job.number, key, result=result, by=by, at=now, **mine)]
    further = [(other, given(shared_card.own(request.POST, other))) for other in others]
    return commands.sign_together(job.number, [(key, mine), *further], by=by, at=now)


def given(typed: QueryDict) -> dict[str, Any]:
    """Return what was typed for a step, as `sign` takes it."""
    return {
        "readings": forms.readings_from(typed),
        "answers": forms.answers_from(typed),
        "instruments": forms.instruments_from(typed),
        "note": typed.get("note", ""),
        "content_hash": typed.get("substance", ""),
        "seen": whole(typed.get("seen", "")),
    }


def _outcomes(request: HttpRequest, signed: list[ListedStep]) -> str:
    """Say what came of each step."""
    outside = _("recorded as failed, a reading lies outside its limit")
    states = {"signed": _("signed"), "failed": _("failed")}
    passed = request.POST.get("result") == PASS
    words = [
        outside if passed and step.state == "failed" else states.get(step.state, step.state)
        for step in signed
    ]
    pairs = zip(signed, words, strict=True)
    return " ".join(f"{pack_text(step.step.title)}: {said}." for step, said in pairs)


@require_POST
@job_page("sign", on_error=page)
def waive(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    reason = request.POST.get("reason", "")
    look = whole(request.POST.get("look", ""))
    waived = commands.waive(
        job.number, key, reason=reason, look=look, by=signed_in(request), at=now
    )
    return done(request, job, now, _("{step}: waived.").format(step=pack_text(waived.step.title)))


@require_POST
@job_page("isolate", on_error=page)
def power(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    to = request.POST.get("to", "")
    seen = whole(request.POST.get("seen", ""))
    moved = commands.set_power(job.number, to, by=signed_in(request), at=now, seen=seen)
    if moved.power == Power.ISOLATED:
        said = _("{number}: plug out, recorded. Charge may remain: discharge, then prove it dead.")
    else:
        said = _("{number}: mains is on, {power}.")
    words = said.format(number=job.number, power=power_name(moved.power))
    return done(request, job, now, words)


@require_POST
@job_page("isolate", on_error=page)
def plug(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The plug that was recorded as out is in, or nobody is sure: the unit is live."""
    commands.doubt_plug(job.number, by=signed_in(request), at=now)
    said = _("{number}: treat it as live. Pull its plug, then record it as out.")
    return done(request, job, now, said.format(number=job.number))


@require_POST
@job_page("move", on_error=page)
def cover(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    to = request.POST.get("to", "")
    moved = commands.set_cover(job.number, to, by=signed_in(request), at=now)
    said = _("The cover is {cover}.").format(cover=cover_name(moved.cover))
    return done(request, job, now, said + going_on.go_on(request, job, now))


@require_POST
@job_page("move", on_error=page)
def stage(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    to = request.POST.get("to", "")
    question = last_moves.into_stage(queries.Traveller.of(job), to) if to in CLOSED else None
    if question and (asked := unless_sure(request, question)):
        return asked
    moved = commands.set_stage(job.number, to, by=signed_in(request), at=now)
    if moved.closed:
        # Who is to be told stands on the card that comes now, not after the next round.
        composing.queue_for(moved, now=now)
    said = _("The job is {stage}.").format(stage=stage_name(moved.stage))
    return done(request, job, now, said + going_on.go_on(request, job, now))


@require_POST
@job_page("move", on_error=page)
def join(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    other = whole(request.POST.get("job", ""))
    if other is None:
        raise bad("job", _("job is missing; name the job of this unit that is to be closed."))
    gone = queries.job(other, now)
    if other in job.twins and (asked := unless_sure(request, last_moves.joining(job, gone))):
        return asked
    commands.join(gone.number, job.number, by=signed_in(request), at=now)
    said = _("Job {number} is closed; this one goes on.").format(number=other)
    return done(request, job, now, said)
