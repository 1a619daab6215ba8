"""The estimate page of a job, for the shop."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import signed_in
from shop.estimates import services
from shop.estimates.forms import WordsForm, lines_formset, lines_from_formset
from shop.estimates.models import Estimate
from shop.jobs import commands, queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, UserFacingError, bad


def _page(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError | None = None
) -> HttpResponse:
    record = queries.record_of(job)
    context = {
        "job": job,
        "agreement": record.agreement,
        "beyond": record.beyond,
        "sent": services.sent_estimates(record),
        "refused": str(error or ""),
        "typed": request.POST,
    }
    return render(request, "estimates/estimate.html", context | _draft(request, job))


def _draft(request: HttpRequest, job: Job) -> dict[str, Any]:
    """Return the version that is not sent yet with its forms, as typed when they were."""
    draft = Estimate.objects.filter(job=job, sent_at=None).prefetch_related("lines").first()
    if draft is None:
        return {"draft": None}
    typed = request.POST if "words" in request.POST else None
    return {
        "draft": draft,
        "words": WordsForm(typed, initial={"words": draft.words}),
        "lines": lines_formset(draft, typed),
        "totals": draft.totals(),
        "seen": services.draft_digest(draft),
    }


@require_GET
@job_page("read")
def estimate(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job, now)


@require_POST
@job_page("note", on_error=_page)
def start(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    services.get_or_create_draft(job.number, by=signed_in(request), at=now)
    return redirect("estimate", job.number)


@require_POST
@job_page("note", on_error=_page)
def change(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Keep the draft as typed, and send it when that was the button."""
    draft = Estimate.objects.filter(job=job, sent_at=None).first()
    if draft is None:
        raise services.no_draft_refusal()
    words, lines = WordsForm(request.POST), lines_formset(draft, request.POST)
    if not (words.is_valid() and lines.is_valid()):
        raise _wrong(lines)
    person, seen = signed_in(request), request.POST.get("seen")
    services.save_draft(
        job.number, words.cleaned_data["words"], lines_from_formset(lines), by=person, seen=seen
    )
    if request.POST.get("act") == "send":
        sent = services.send_draft(job.number, by=person, at=now)
        messages.success(
            request, _("Version {version} of the estimate is sent.").format(version=sent.version)
        )
        return redirect("job", job.number)
    messages.success(request, _("The draft is kept."))
    return redirect("estimate", job.number)


def _wrong(lines: Any) -> BadInput:
    of_all_lines = [str(error) for error in lines.non_form_errors()]
    sentences = [_("Nothing is sent or lost: see the fields marked below."), *of_all_lines]
    return bad("lines", " ".join(sentences))


@require_POST
@job_page("note", on_error=_page)
def limit(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Note the price up to which the customer wants not to be asked."""
    data = {"amount": request.POST.get("amount", "")}
    commands.record(job.number, "limit_agreed", data, by=signed_in(request), at=now)
    messages.success(request, _("The limit is noted."))
    return redirect("estimate", job.number)


@require_POST
@job_page("note", on_error=_page)
def answered(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Note what the customer said on the telephone, by letter or at the counter."""
    names = ("answer", "way", "note")
    data = {name: request.POST[name] for name in names if request.POST.get(name)}
    commands.record(job.number, "estimate_answered", data, by=signed_in(request), at=now)
    messages.success(request, _("The answer is noted."))
    return redirect("estimate", job.number)
