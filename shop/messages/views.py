"""Pages of what passes between the shop and customers."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.customers.languages import usual_language
from shop.customers.links import keys
from shop.customers.models import Intake
from shop.jobs import commands, queries
from shop.jobs.decorators import job_page
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import Job
from shop.jobs.warranty import warranted_until
from shop.lib import mail_server
from shop.lib.refusals import BadInput, UserFacingError
from shop.lib.web.errors import on_error
from shop.lib.web.forms import add_problems, cleaned
from shop.messages import composing, message_templates, occasions, sending, writing
from shop.messages.forms import MessageTemplateForm, ShippedForm
from shop.messages.models import Message
from shop.preferences import languages

SHOWN = 60


def _page(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError | None = None
) -> HttpResponse:
    live, record = keys.live_link(job, now=now), queries.record_of(job)
    arrival = Intake.objects.select_related("customer").filter(job=job).first()
    customer = arrival.customer if arrival else None
    context = {
        "job": job,
        "arrival": arrival,
        "by_mail": customer is not None and composing.way_to(customer) == Message.EMAIL,
        "key": request.POST.get("key") or secrets.token_urlsafe(12),
        "link": live,
        "address": keys.address(live) if live else "",
        "questions": record.questions,
        "asked": record.asked,
        "estimate": record.estimate,
        "messages_of": Message.objects.filter(job=job).order_by("pk"),
        "shipments": record.of_type(Shipped.event_type),
        "shipping": ShippedForm(request.POST if "carrier" in request.POST else None),
        "warranty": warranted_until(job) if job.stage == "released" else None,
        "refused": str(error or ""),
        "typed": request.POST,
    }
    return render(request, "messages/customer_side.html", context)


@require_GET
@job_page("note")
def customer_side(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job, now)


@require_POST
@job_page("note")
def link(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Make the customer's link, or end it."""
    if request.POST.get("act") == "end":
        keys.revoke(job, by=signed_in(request), at=now)
        messages.success(request, _("The link is ended."))
    else:
        keys.link_for(job, now=now, by=signed_in(request))
        messages.success(request, _("The link works."))
    return redirect("customer-side", job.number)


@require_POST
@job_page("note", on_error=_page)
def reply(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    data = {"text": request.POST.get("text", "")}
    commands.record(job.number, "question_replied", data, by=signed_in(request), at=now)
    messages.success(request, _("The answer stands on the customer's page."))
    return redirect("customer-side", job.number)


@require_POST
@job_page("note", on_error=_page)
def write(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Put a message in one's own words in line."""
    words, key = request.POST.get("words", ""), request.POST.get("key", "")
    message = writing.write(job, words, key=key, by=signed_in(request), at=now)
    by_mail = (
        _("It goes out by e-mail.") if message.way == Message.EMAIL else _("It is for you to tell.")
    )
    messages.success(request, by_mail)
    return redirect("customer-side", job.number)


@require_POST
@job_page("note", on_error=_page)
def shipped(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    data = cleaned(ShippedForm(request.POST))
    commands.record(job.number, "shipped", data, by=signed_in(request), at=now)
    messages.success(request, _("Noted: it has left the house."))
    return redirect("job", job.number)


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
        "occasions": occasions.TITLES,
        "mail_is_on": mail_server.is_on(),
    }
    return render(request, "messages/outbox.html", context)


def _back_to_outbox(request: HttpRequest, key: int, *, error: UserFacingError) -> HttpResponse:
    messages.warning(request, str(error))
    return redirect("outbox")


@require_POST
@needs("note")
@on_error(_back_to_outbox)
def done(request: HttpRequest, key: int) -> HttpResponse:
    message = get_object_or_404(Message, pk=key)
    sending.mark_done(message, by=signed_in(request), at=timezone.now())
    messages.success(request, _("Noted: the customer was told."))
    return redirect("job", message.job_id) if "next" in request.POST else redirect("outbox")


@require_POST
@needs("note")
@on_error(_back_to_outbox)
def again(request: HttpRequest, key: int) -> HttpResponse:
    message = get_object_or_404(Message, pk=key)
    sending.retry(message, by=signed_in(request), at=timezone.now())
    messages.success(request, _("It is in line again."))
    return redirect("outbox")


@require_http_methods(["GET", "HEAD", "POST"])
@needs("note")
def words(request: HttpRequest, about: str) -> HttpResponse:
    """Change the words of an occasion in one language, with a preview in it."""
    language = request.GET.get("language") or usual_language()
    if about not in message_templates.DEFAULTS or language not in languages.NAMES:
        raise Http404
    act, again = request.POST.get("act"), f"{request.path}?language={language}"
    if act == "usual":
        message_templates.reset(about, by=signed_in(request), language=language)
        messages.success(request, _("The usual words are back."))
        return redirect(again)
    with translation.override(language):
        current = message_templates.template_for(about)
    stored = {"subject": current.subject, "text": current.text}
    typed = request.POST if request.method == "POST" else None
    form = MessageTemplateForm(typed, initial=stored, language=language)
    status = 200
    if form.is_bound and not (form.is_valid() and _saved(request, about, language, form)):
        status = 422
    elif act == "keep":
        return redirect(again)
    context = _preview(about, language, form)
    return render(request, "messages/message_template.html", context, status=status)


def _saved(request: HttpRequest, about: str, language: str, form: MessageTemplateForm) -> bool:
    """Keep the words, or only look whether they could be; tells whether they are sound."""
    subject, text = form.cleaned_data["subject"], form.cleaned_data["text"]
    try:
        message_templates.validate(subject, text)
        if request.POST.get("act") == "keep":
            by = signed_in(request)
            message_templates.save(about, subject, text, by=by, language=language)
            messages.success(request, _("The words are kept."))
    except BadInput as error:
        add_problems(form, error)
        return False
    return True


def _preview(about: str, language: str, form: MessageTemplateForm) -> dict[str, Any]:
    with translation.override(language):
        values = composing.example_values(timezone.now())
    subject, text = (str(form[name].value() or "") for name in ("subject", "text"))
    return {
        "about": about,
        "title": occasions.TITLES[about],
        "language": language,
        "languages": languages.CHOICES,
        "form": form,
        "places": occasions.PLACEHOLDERS,
        "subject": message_templates.fill(subject, values),
        "text": message_templates.fill(text, values),
        "changed": message_templates.own_template(about, language) is not None,
    }
