"""Pages of what passes between the shop and customers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages as said
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.customers.links import keys
from shop.customers.models import Intake
from shop.jobs import commands, queries
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, Refused
from shop.messages import composing, sending, wording
from shop.messages.forms import ShippedForm, WordingForm
from shop.messages.models import Message

SHOWN = 60


@require_GET
@needs("note")
def customer_side(request: HttpRequest, number: int) -> HttpResponse:
    return _page(request, queries.job(number, timezone.now()))


@require_POST
@needs("note")
def link(request: HttpRequest, number: int) -> HttpResponse:
    """Make the customer's link, or end it."""
    job = queries.job(number, timezone.now())
    if request.POST.get("act") == "end":
        keys.revoke(job, by=signed_in(request), at=timezone.now())
        said.success(request, "The link is ended.")
    else:
        keys.link_for(job, now=timezone.now(), by=signed_in(request))
        said.success(request, "The link works.")
    return redirect("customer-side", number)


@require_POST
@needs("note")
def reply(request: HttpRequest, number: int) -> HttpResponse:
    data = {"text": request.POST.get("text", "")}
    return _record(
        request, number, "question_replied", data, "The answer stands on the customer's page."
    )


@require_POST
@needs("note")
def shipped(request: HttpRequest, number: int) -> HttpResponse:
    form = ShippedForm(request.POST)
    if not form.is_valid():
        job = queries.job(number, timezone.now())
        return _page(request, job, shipping=form, status=422)
    return _record(request, number, "shipped", form.cleaned_data, "Noted: it has left the house.")


def _record(
    request: HttpRequest, number: int, kind: str, data: dict[str, Any], done: str
) -> HttpResponse:
    job = queries.job(number, timezone.now())
    try:
        commands.record(number, kind, data, by=signed_in(request), at=timezone.now())
    except (BadInput, Refused) as error:
        return _page(request, job, refused=str(error), status=error.status)
    said.success(request, done)
    return redirect("customer-side", number)


def _page(
    request: HttpRequest,
    job: Job,
    *,
    refused: str = "",
    shipping: ShippedForm | None = None,
    status: int = 200,
) -> HttpResponse:
    now = timezone.now()
    live, record = keys.live_link(job, now=now), queries.record_of(job)
    context = {
        "job": job,
        "arrival": Intake.objects.select_related("customer").filter(job=job).first(),
        "link": live,
        "address": keys.address(live) if live else "",
        "questions": record.questions,
        "asked": record.asked,
        "estimate": record.estimate,
        "messages_of": Message.objects.filter(job=job).order_by("pk"),
        "shipments": record.of_type(Shipped.event_type),
        "shipping": shipping or ShippedForm(request.POST if "carrier" in request.POST else None),
        "warranty": composing.warranted_until(job) if job.stage == "released" else None,
        "refused": refused,
        "typed": request.POST,
    }
    return render(request, "messages/customer_side.html", context, status=status)


@require_GET
@needs("note")
def outbox(request: HttpRequest) -> HttpResponse:
    """Show what waits for a hand, what could not be sent, and what went last."""
    every = Message.objects.select_related("job__unit", "customer")
    context = {
        "by_hand": every.filter(way=Message.HAND, sent_at=None, given_up_at=None)[:SHOWN],
        "failed": every.filter(given_up_at__isnull=False)[:SHOWN],
        "waiting": every.filter(way=Message.EMAIL, sent_at=None, given_up_at=None)[:SHOWN],
        "went": every.filter(sent_at__isnull=False).order_by("-sent_at")[:SHOWN],
        "occasions": wording.OCCASIONS,
    }
    return render(request, "messages/outbox.html", context)


@require_POST
@needs("note")
def done(request: HttpRequest, key: int) -> HttpResponse:
    return _act(request, key, sending.done, "Noted: the customer was told.")


@require_POST
@needs("note")
def again(request: HttpRequest, key: int) -> HttpResponse:
    return _act(request, key, sending.try_again, "It is in line again.")


def _act(request: HttpRequest, key: int, act: Callable[..., None], sentence: str) -> HttpResponse:
    message = get_object_or_404(Message, pk=key)
    try:
        act(message, by=signed_in(request), at=timezone.now())
    except Refused as error:
        said.warning(request, error.sentence)
    else:
        said.success(request, sentence)
    return redirect("outbox")


@require_http_methods(["GET", "HEAD", "POST"])
@needs("note")
def words(request: HttpRequest, about: str) -> HttpResponse:
    """Change the words of an occasion, with a preview on a job that is here."""
    if about not in wording.OCCASIONS:
        raise Http404
    act, current = request.POST.get("act"), wording.words_for(about)
    if act == "usual":
        wording.drop(about, by=signed_in(request))
        said.success(request, "The usual words are back.")
        return redirect("wording", about)
    stored = {"subject": current.subject, "text": current.text}
    form = WordingForm(request.POST if request.method == "POST" else None, initial=stored)
    status = 200
    if form.is_bound and not (form.is_valid() and _kept(request, about, form, act)):
        status = 422
    elif act == "keep":
        return redirect("wording", about)
    return render(request, "messages/wording.html", _preview(about, form), status=status)


def _kept(request: HttpRequest, about: str, form: WordingForm, act: str | None) -> bool:
    """Keep the words, or only look whether they could be; tells whether they are sound."""
    given = form.cleaned_data
    try:
        wording.check(given["subject"], given["text"])
        if act == "keep":
            wording.keep(about, given["subject"], given["text"], by=signed_in(request))
            said.success(request, "The words are kept.")
    except BadInput as error:
        for field, sentence in error.problems:
            form.add_error(field, sentence)
        return False
    return True


def _preview(about: str, form: WordingForm) -> dict[str, Any]:
    values = composing.example(timezone.now())
    subject, text = (str(form[name].value() or "") for name in ("subject", "text"))
    filled = wording.fill(text, values)
    return {
        "about": about,
        "title": wording.OCCASIONS[about].title,
        "form": form,
        "places": wording.PLACES,
        "subject": wording.fill(subject, values),
        "text": filled,
        "changed": wording.words_for(about) != wording.OCCASIONS[about],
    }
