"""Pages of the reminders: what is open, what is put off, and how mail is wanted."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, signed_in
from shop.jobs import queries
from shop.lib.refusals import BadInput, Refused
from shop.reminders import queries as reminder_queries
from shop.reminders import services
from shop.reminders.forms import MailForm, SnoozeForm
from shop.reminders.models import Letter, MailWish, Snooze
from shop.reminders.policy import TOPICS


@require_GET
@needs("read")
def reminders(request: HttpRequest) -> HttpResponse:
    now, person = timezone.now(), signed_in(request)
    wish = MailWish.objects.filter(person=person).first()
    context = {
        "reminders": reminder_queries.open_reminders(now),
        "snoozed": Snooze.objects.filter(until__gt=now).select_related("job__unit", "by"),
        "snooze_form": SnoozeForm(),
        "mail_form": MailForm(
            initial={"way": wish.way if wish else MailWish.EACH, "email": person.email}
        ),
        "stuck": Letter.objects.exclude(given_up_at=None).count(),
        "topics": TOPICS,
    }
    return render(request, "reminders/reminders.html", context)


@require_POST
@needs("note")
def snooze(request: HttpRequest, number: int) -> HttpResponse:
    queries.job(number, timezone.now())
    form = SnoozeForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Not put off: " + form.told)
        return redirect("reminders")
    try:
        made = services.snooze(
            number,
            request.POST.get("topic", ""),
            until=form.until(timezone.now()),
            reason=form.cleaned_data["reason"],
            by=signed_in(request),
            at=timezone.now(),
        )
    except (BadInput, Refused) as error:
        messages.error(request, f"Not put off: {error}")
    else:
        until = timezone.localtime(made.until)
        messages.success(request, f"Job {number} is put off until {until:%-d %B, %H:%M}.")
    return redirect("reminders")


@require_POST
@needs("read")
def mail(request: HttpRequest) -> HttpResponse:
    form = MailForm(request.POST)
    if form.is_valid():
        form.save(signed_in(request))
        messages.success(request, "Noted.")
    else:
        messages.error(request, "Not noted: " + form.told)
    return redirect("reminders")
