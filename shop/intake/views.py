"""Pages of the desk: a unit comes in."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.intake import duplicates, photos, services
from shop.intake.forms import ReceiveForm
from shop.jobs import facts
from shop.jobs.models import Job
from shop.lib.refusals import BadInput
from shop.lib.web.forms import add_problems

_PLAIN = ("make", "model", "serial", "complaint")


@require_http_methods(["GET", "HEAD", "POST"])
@needs("receive")
def receive(request: HttpRequest) -> HttpResponse:
    form = ReceiveForm(request.POST or None)
    if request.method != "POST":
        return render(request, "intake/receive.html", {"form": form})
    if form.is_valid():
        try:
            job = services.receive(
                by=signed_in(request),
                at=timezone.now(),
                facts=facts.from_text(form.given()),
                details=form.details(),
                **{name: form.cleaned_data[name] for name in _PLAIN},
            )
        except BadInput as error:
            add_problems(form, error, _form_field)
        else:
            _greet(request, job)
            return redirect(job)
    return render(request, "intake/receive.html", {"form": form}, status=422)


def _greet(request: HttpRequest, job: Job) -> None:
    """Say what there is to say of a job that was just opened, its pictures taken in."""
    messages.success(request, f"Job {job.number} is open.")
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
    return render(request, "intake/_hints.html", {"earlier": earlier})


def _form_field(field: str) -> str:
    return "customer_ring_above" if field == "amount" else field.replace("customer.", "customer_")
