"""Pages of the reminders: what is open, what is snoozed, and how mail is wanted."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from checklists.engine.figures import grouped
from shop.accounts.roles import needs, signed_in
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib import languages, text
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import on_error
from shop.lib.web.forms import cleaned
from shop.reminders import queries, services
from shop.reminders.forms import MailForm, SnoozeForm
from shop.reminders.models import EmailPreference, Snooze, StaffEmail
from shop.reminders.policy import TOPICS


def _page(
    request: HttpRequest,
    job: Job | None = None,
    now: datetime | None = None,
    *,
    error: UserFacingError | None = None,
) -> HttpResponse:
    """Show what is open; after an error with what was typed, at the reminder or for the mail."""
    now, person = now or timezone.now(), signed_in(request)
    wish = EmailPreference.objects.filter(person=person).first()
    many = error is not None and "days" in request.POST and job is None
    context = {
        "reminders": queries.open_reminders(now),
        "snoozed": Snooze.objects.filter(until__gt=now).select_related("job__unit", "by"),
        # Without ids: the forms stand once for each reminder.
        "snooze_form": SnoozeForm(auto_id=False),
        "typed_form": SnoozeForm(request.POST if job else None, auto_id=False),
        "many_form": SnoozeForm(request.POST if many else None, auto_id="many_%s"),
        "ticked": request.POST.getlist("reminder"),
        "typed_job": job.number if job else None,
        "typed_topic": request.POST.get("topic"),
        "mail_form": MailForm(
            request.POST if error and not job and not many else None,
            initial={"way": wish.way if wish else EmailPreference.EACH, "email": person.email},
        ),
        "stuck": StaffEmail.objects.exclude(given_up_at=None).count(),
        "topics": TOPICS,
        "refused": _refused(error, snoozing=bool(job or many)) if error else "",
    }
    return render(request, "reminders/reminders.html", context)


def _refused(error: UserFacingError, *, snoozing: bool) -> str:
    words = _("Not snoozed: {reason}") if snoozing else _("Not noted: {reason}")
    return words.format(reason=error)


@require_GET
@needs("read")
def reminders(request: HttpRequest) -> HttpResponse:
    return _page(request)


@require_POST
@job_page("note", on_error=_page)
def snooze(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    form = SnoozeForm(request.POST)
    reason = cleaned(form)["reason"]
    snoozed = services.snooze(
        job.number,
        request.POST.get("topic", ""),
        until=form.until(now),
        reason=reason,
        by=signed_in(request),
        at=now,
    )
    until = timezone.localtime(snoozed.until)
    sentence = _("Job {number} is snoozed until {day}, {time}.").format(
        number=job.number, day=languages.day_of_year(until), time=f"{until:%H:%M}"
    )
    messages.success(request, sentence)
    return redirect("reminders")


@require_POST
@needs("note")
@on_error(_page)
def snooze_many(request: HttpRequest) -> HttpResponse:
    """Snooze the reminders that are ticked, all for as long and for one reason."""
    now, form = timezone.now(), SnoozeForm(request.POST)
    keys = {key for one in request.POST.getlist("reminder") if (key := text.whole(one)) is not None}
    reason = cleaned(form)["reason"]
    snoozed, settled = services.snooze_many(
        keys, until=form.until(now), reason=reason, by=signed_in(request), at=now
    )
    words = ngettext("{count} reminder snoozed.", "{count} reminders snoozed.", snoozed)
    sentences = [words.format(count=grouped(snoozed))]
    if settled:
        sentences.append(_("{count} settled meanwhile.").format(count=settled))
    messages.success(request, " ".join(sentences))
    return redirect("reminders")


@require_POST
@needs("read")
@on_error(_page)
def mail(request: HttpRequest) -> HttpResponse:
    form = MailForm(request.POST)
    cleaned(form)
    form.save(signed_in(request))
    messages.success(request, _("Noted."))
    return redirect("reminders")
