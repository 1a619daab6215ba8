"""Pages of the desk: a unit comes in."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.customers.announced.services import AlreadyReceived
from shop.intake import announcements, duplicates, photos, picture_drafts, services, suggestions
from shop.intake.forms import ReceiveForm
from shop.intake.models import PictureDraft
from shop.jobs import facts
from shop.jobs.commands.units import AlreadyHere
from shop.jobs.models import Job
from shop.lib.refusals import BadInput
from shop.lib.web.forms import add_problems

_PLAIN = ("make", "model", "serial", "complaint", "arrived_open")


@require_http_methods(["GET", "HEAD", "POST"])
@needs("receive")
def receive(request: HttpRequest) -> HttpResponse:
    form = ReceiveForm(request.POST or None, initial=announcements.filled_in(request.GET))
    if request.method != "POST":
        return _form_page(request, form, 200)
    if form.is_valid():
        try:
            job = _received(request, form)
        except AlreadyReceived as error:
            messages.warning(request, str(error))
            return redirect("job", error.number)
        except AlreadyHere as error:
            return _form_page(request, form, error.status, here=error)
        except BadInput as error:
            add_problems(form, error, _form_field)
        else:
            _greet(request, job)
            return redirect(job)
    return _form_page(request, form, 422)


def _received(request: HttpRequest, form: ReceiveForm) -> Job:
    return services.receive(
        by=signed_in(request),
        at=timezone.now(),
        facts=facts.from_text(form.given()),
        details=form.details(),
        join=_joins(request),
        announced=form.cleaned_data["announced"],
        **{name: form.cleaned_data[name] for name in _PLAIN},
    )


def _joins(request: HttpRequest) -> bool:
    return request.POST.get("join") == "yes"


def _form_page(
    request: HttpRequest, form: ReceiveForm, status: int, *, here: AlreadyHere | None = None
) -> HttpResponse:
    """Show the form; a refused one with its pictures, which no browser sends again."""
    refused = picture_drafts.keep(request, timezone.now()) if request.method == "POST" else []
    context = {
        "form": form,
        "here": here,
        "mistakes": form.mistakes(),
        "makes": suggestions.makes(),
        "models": suggestions.models_of(request.POST.get("make", "")),
        "kept": picture_drafts.drafts_of(request),
        "not_kept": refused,
        "announced": announcements.expected(form["announced"].value()),
    }
    return render(request, "intake/receive.html", context, status=status)


def _greet(request: HttpRequest, job: Job) -> None:
    """Say what there is to say of a job that was just opened or added to, its pictures taken in."""
    opened = _("Job {number} is added to.") if _joins(request) else _("Job {number} is open.")
    messages.success(request, opened.format(number=job.number))
    for hint in duplicates.duplicate_hints(job):
        messages.info(request, hint)
    for sentence in photos.save_photos(request, job):
        messages.warning(request, sentence)


@require_GET
@needs("receive")
def hints(request: HttpRequest) -> HttpResponse:
    """Say while it is typed whether unit or customer may have been here."""
    earlier = duplicates.earlier_jobs(
        request.GET.get("serial", "").strip(), request.GET.get("customer_email", "").strip()
    )
    coming = announcements.like(request.GET)
    return render(request, "intake/_hints.html", {"earlier": earlier, "coming": coming})


@require_GET
@needs("receive")
def models(request: HttpRequest) -> HttpResponse:
    """Suggest the models of a make, as it is typed."""
    found = suggestions.models_of(request.GET.get("make", ""))
    return render(request, "intake/_options.html", {"options": found})


@require_GET
@needs("receive")
def draft(request: HttpRequest, key: int) -> HttpResponse:
    """Show a picture that a refused form left, to who sent it."""
    kept = get_object_or_404(PictureDraft, pk=key, by=signed_in(request))
    answer = HttpResponse(bytes(kept.small), content_type="image/jpeg")
    answer["Cache-Control"] = "private, no-store"
    return answer


def _form_field(field: str) -> str:
    return "customer_ring_above" if field == "amount" else field.replace("customer.", "customer_")
