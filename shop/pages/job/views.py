"""The job's page, and what is done on it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from checklists.engine.vocabulary import VOCABULARY
from shop.accounts.roles import needs, signed_in
from shop.jobs import commands, events, forms, queries
from shop.jobs.commands.signing import NotListed
from shop.jobs.events.forms import EventForm
from shop.jobs.facts import value_from_text
from shop.jobs.models import StaleJob
from shop.jobs.stages import Power
from shop.lib.refusals import BadInput, Refused, bad
from shop.lib.web import htmx
from shop.pages.job.presenting import sheet


@require_GET
@needs("read")
def job_page(request: HttpRequest, number: int) -> HttpResponse:
    return _show(request, number)


def _show(
    request: HttpRequest,
    number: int,
    *,
    status: int = 200,
    refused: str = "",
    typed: dict[str, Any] | None = None,
    form: EventForm | None = None,
) -> HttpResponse:
    job = queries.job(number, timezone.now())
    context = sheet(queries.Traveller.of(job), typed=typed or {}, form=form)
    context |= {"refused": refused}
    return htmx.page(request, "pages/job/job.html", "pages/job/_job.html", context, status)


def _answer(
    request: HttpRequest,
    number: int,
    act: Callable[[], str],
    form: EventForm | None = None,
) -> HttpResponse:
    """Make a move and show the sheet again; what was typed survives a refusal."""
    try:
        messages.success(request, act())
    except BadInput as error:
        return _show(
            request, number, status=422, refused=str(error), typed=request.POST.dict(), form=form
        )
    except (Refused, StaleJob, NotListed) as error:
        said = error.sentence if isinstance(error, Refused) else str(error)
        return _show(
            request, number, status=409, refused=said, typed=request.POST.dict(), form=form
        )
    if htmx.wants_fragment(request):
        return _show(request, number)
    # The page it was typed on, out of the few that record for a job.
    after = request.POST.get("next", "")
    return redirect(after if after in ("trials", "soak") else "job", number)


@require_POST
@needs("sign")
def sign(request: HttpRequest, number: int, key: str) -> HttpResponse:
    queries.job(number, timezone.now())

    def act() -> str:
        step = _listed_step(number, key)
        signed = commands.sign(
            number,
            key,
            result=request.POST.get("result", ""),
            readings=forms.readings_from(step, request.POST) if step else [],
            note=request.POST.get("note", ""),
            content_hash=request.POST.get("substance", ""),
            seen=_seen(request),
            by=signed_in(request),
            at=timezone.now(),
        )
        if signed.state == "failed" and request.POST.get("result") == "pass":
            return f"{signed.step.title}: recorded as failed, a reading lies outside its limit."
        return f"{signed.step.title}: {signed.state}."

    return _answer(request, number, act)


def _listed_step(number: int, key: str) -> Any:
    job = queries.job(number, timezone.now())
    return queries.Traveller.of(job).checklist.by_key.get(key)


def _seen(request: HttpRequest) -> int | None:
    typed = request.POST.get("seen", "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else None


@require_POST
@needs("sign")
def waive(request: HttpRequest, number: int, key: str) -> HttpResponse:
    queries.job(number, timezone.now())

    def act() -> str:
        reason = request.POST.get("reason", "")
        step = commands.waive(number, key, reason=reason, by=signed_in(request), at=timezone.now())
        return f"{step.step.title}: waived."

    return _answer(request, number, act)


@require_POST
@needs("isolate")
def power(request: HttpRequest, number: int) -> HttpResponse:
    queries.job(number, timezone.now())

    def act() -> str:
        to = request.POST.get("to", "")
        job = commands.set_power(number, to, by=signed_in(request), at=timezone.now())
        return "Mains is off." if job.power == Power.ISOLATED else f"Mains is on: {job.power}."

    return _answer(request, number, act)


@require_POST
@needs("move")
def cover(request: HttpRequest, number: int) -> HttpResponse:
    queries.job(number, timezone.now())

    def act() -> str:
        to = request.POST.get("to", "")
        job = commands.set_cover(number, to, by=signed_in(request), at=timezone.now())
        return f"The cover is {job.cover}."

    return _answer(request, number, act)


@require_POST
@needs("move")
def stage(request: HttpRequest, number: int) -> HttpResponse:
    queries.job(number, timezone.now())

    def act() -> str:
        to = request.POST.get("to", "")
        job = commands.set_stage(number, to, by=signed_in(request), at=timezone.now())
        return f"The job is {str(job.stage).replace('_', ' ')}."

    return _answer(request, number, act)


@require_POST
@needs("note")
def record(request: HttpRequest, number: int, kind: str) -> HttpResponse:
    queries.job(number, timezone.now())
    form_class = events.find(kind).form
    form = form_class(request.POST) if form_class else None
    if form is not None and not form.is_valid():
        said = " ".join(
            f"{form[n].label}: {' '.join(map(str, es))}" for n, es in form.errors.items()
        )
        return _show(request, number, status=422, refused=said, form=form)
    data = form.data_for_row() if form else {}

    def act() -> str:
        commands.record(number, kind, data, by=signed_in(request), at=timezone.now())
        return f"Recorded: {kind.replace('_', ' ')}."

    return _answer(request, number, act, form)


@require_POST
@needs("record")
def facts(request: HttpRequest, number: int) -> HttpResponse:
    queries.job(number, timezone.now())

    def act() -> str:
        name = request.POST.get("name", "")
        typed = " ".join(request.POST.getlist("value"))
        if name in VOCABULARY and not typed.strip():
            raise bad(name, f"{name} is empty; choose or type a value.")
        data = {"name": name, "value": value_from_text(name, typed)}
        commands.record(number, "fact_recorded", data, by=signed_in(request), at=timezone.now())
        return f"Recorded: {name}."

    return _answer(request, number, act)
