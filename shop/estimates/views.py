"""The estimate page of a job, for the shop."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, signed_in
from shop.estimates import services
from shop.estimates.forms import WordsForm, lines_form, lines_from
from shop.estimates.models import Estimate
from shop.jobs import commands, queries
from shop.lib.refusals import BadInput, Refused, bad


@require_GET
@needs("read")
def estimate(request: HttpRequest, number: int) -> HttpResponse:
    return _page(request, number)


@require_POST
@needs("note")
def start(request: HttpRequest, number: int) -> HttpResponse:
    queries.job(number, timezone.now())
    try:
        services.draft(number, by=signed_in(request), at=timezone.now())
    except Refused as error:
        return _page(request, number, error)
    return redirect("estimate", number)


@require_POST
@needs("note")
def change(request: HttpRequest, number: int) -> HttpResponse:
    """Keep the draft as typed, and send it when that was the button."""
    queries.job(number, timezone.now())
    current = Estimate.objects.filter(job=number, sent_at=None).first()
    if current is None:
        return _page(request, number, services.no_draft())
    words, lines = WordsForm(request.POST), lines_form(current, request.POST)
    if not (words.is_valid() and lines.is_valid()):
        return _page(request, number, _wrong(lines), words=words, lines=lines)
    try:
        _keep(request, number, words.cleaned_data["words"], lines_from(lines))
    except (BadInput, Refused) as error:
        return _page(request, number, error, words=words, lines=lines)
    return redirect("estimate", number)


def _wrong(lines: Any) -> BadInput:
    said = [str(error) for error in lines.non_form_errors()]
    return bad("lines", " ".join(["Nothing is sent or lost: see the fields marked below.", *said]))


def _keep(request: HttpRequest, number: int, words: str, lines: list[dict[str, Any]]) -> None:
    person = signed_in(request)
    services.save(number, words, lines, by=person, seen=request.POST.get("seen"))
    if request.POST.get("act") != "send":
        messages.success(request, "The draft is kept.")
        return
    sent = services.send(number, by=person, at=timezone.now())
    messages.success(request, f"Version {sent.version} is sent.")


@require_POST
@needs("note")
def limit(request: HttpRequest, number: int) -> HttpResponse:
    """Note the price up to which the customer wants not to be asked."""
    queries.job(number, timezone.now())
    data = {"amount": request.POST.get("amount", "")}
    return _record(request, number, "limit_agreed", data, "The limit is noted.")


@require_POST
@needs("note")
def answered(request: HttpRequest, number: int) -> HttpResponse:
    """Note what the customer said on the telephone, by letter or at the counter."""
    queries.job(number, timezone.now())
    names = ("answer", "way", "note")
    data = {name: request.POST[name] for name in names if request.POST.get(name)}
    return _record(request, number, "estimate_answered", data, "The answer is noted.")


def _record(
    request: HttpRequest, number: int, kind: str, data: dict[str, Any], done: str
) -> HttpResponse:
    try:
        commands.record(number, kind, data, by=signed_in(request), at=timezone.now())
    except (BadInput, Refused) as error:
        return _page(request, number, error)
    messages.success(request, done)
    return redirect("estimate", number)


def _page(
    request: HttpRequest, number: int, error: BadInput | Refused | None = None, **forms: Any
) -> HttpResponse:
    job = queries.job(number, timezone.now())
    record = queries.record_of(job)
    current = Estimate.objects.filter(job=job, sent_at=None).prefetch_related("lines").first()
    context = {
        "job": job,
        "agreement": record.agreement,
        "beyond": record.beyond,
        "sent": services.sent(record),
        "draft": current,
        "refused": str(error) if error else "",
        "typed": request.POST,
    }
    if current is not None:
        context |= {
            "words": forms.get("words") or WordsForm(initial={"words": current.words}),
            "lines": forms.get("lines") or lines_form(current),
            "totals": current.totals(),
            "seen": services.digest(current),
        }
    return render(
        request, "estimates/estimate.html", context, status=error.status if error else 200
    )
