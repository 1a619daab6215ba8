"""The manuals of a job, a model or a part: add, find a page, take away."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from shop.accounts.roles import needs, require, signed_in
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web import uploads
from shop.lib.web.errors import on_error
from shop.manuals import queries, reading, services
from shop.manuals.models import Manual
from shop.manuals.services import Owner
from shop.parts.models import Part

LONGEST = 200


class ManualForm(forms.Form):
    """A file that is added."""

    file = forms.FileField(
        label=format_lazy(
            gettext_lazy("PDF, at most {megabytes} MB"), megabytes=reading.LARGEST_FILE // 2**20
        ),
        widget=forms.FileInput(attrs={"accept": "application/pdf"}),
    )
    kind = forms.ChoiceField(label=gettext_lazy("It is a"), choices=Manual.KINDS)
    title = forms.CharField(
        label=gettext_lazy("Title (else the name of the file)"), max_length=200, required=False
    )


def _context(
    request: HttpRequest, manuals: QuerySet[Manual], error: UserFacingError | None
) -> dict[str, Any]:
    typed = request.GET.get("q", "").replace("\0", " ").strip()[:LONGEST]
    # A browser does not fill a file in again: what else was typed is kept.
    form = ManualForm(initial=request.POST.dict())
    return {
        "manuals": manuals.select_related("by", "part"),
        "found": queries.search_pages(manuals, typed) if typed else [],
        "typed": typed,
        "links": queries.links_in_words(manuals),
        "form": form,
        "refused": str(error or ""),
    }


def keep_file(request: HttpRequest, owner: Owner) -> Manual:
    """Keep the file of a form for its owner; BadInput or Refused with a sentence."""
    require(request.user, "note")
    for name in uploads.dropped(request):
        raise reading.too_large(name)
    sent = request.FILES.get("file")
    if not isinstance(sent, UploadedFile):
        raise bad("file", _("No file was chosen."))
    name = sent.name or "The file"
    if (sent.size or 0) > reading.LARGEST_FILE:
        raise reading.too_large(name)
    manual = services.add_manual(
        owner,
        name,
        reading.read_pdf(name, sent.read()),
        kind=request.POST.get("kind", Manual.MANUAL),
        title=request.POST.get("title", ""),
        by=signed_in(request),
        at=timezone.now(),
    )
    messages.success(
        request, _("Kept: {title}. {told}").format(title=manual.title, told=_told(manual))
    )
    return manual


def _told(manual: Manual) -> str:
    with_text = manual.texts.count()
    if with_text == manual.pages:
        return _("Its text can be searched.")
    if not with_text:
        return _("Its pages are pictures: there is no text to search.")
    return _("{with_text} of its {pages} pages have text that can be searched.").format(
        with_text=with_text, pages=manual.pages
    )


def _job_page(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError | None = None
) -> HttpResponse:
    context = _context(request, queries.of_job(job), error)
    context |= {"job": job, "of_model": bool(job.unit.make and job.unit.model)}
    return render(request, "manuals/job_manuals.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@job_page("read", on_error=_job_page)
def job_manuals(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The manuals of a job; one that is added belongs to its model, or to this job alone."""
    if request.method == "POST":
        require(request.user, "note")
        own = request.POST.get("of") != "model"
        keep_file(
            request,
            Owner(job=job) if own else services.of_model(job.unit.make, job.unit.model),
        )
        return redirect("job-manuals", job.number)
    return _job_page(request, job, now)


def _model_page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    make, model = (request.GET.get(name, "") for name in ("make", "model"))
    if not (make and model):
        raise Http404(_("Say make and model."))
    manuals = queries.of_owner(Owner(make, model))
    context = _context(request, manuals, error) | {"make": make, "model": model}
    return render(request, "manuals/model_manuals.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
@on_error(_model_page)
def model_manuals(request: HttpRequest) -> HttpResponseBase:
    """The manuals of the make and model in the address."""
    if request.method == "POST":
        require(request.user, "note")
        make, model = request.GET.get("make", ""), request.GET.get("model", "")
        keep_file(request, services.of_model(make, model))
        return redirect(request.get_full_path())
    return _model_page(request)


def _part_page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    part = get_object_or_404(Part, pk=number)
    context = _context(request, queries.of_owner(Owner(part=part)), error) | {"part": part}
    return render(request, "manuals/part_manuals.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
@on_error(_part_page)
def part_manuals(request: HttpRequest, number: int) -> HttpResponseBase:
    """The data sheets of a part."""
    if request.method == "POST":
        keep_file(request, Owner(part=get_object_or_404(Part, pk=number)))
        return redirect("part-manuals", number)
    return _part_page(request, number)


@require_POST
@needs("persons")
def remove(request: HttpRequest, key: int) -> HttpResponse:
    """Take a manual away for good."""
    manual = get_object_or_404(Manual, pk=key)
    services.remove_manual(manual, by=signed_in(request))
    messages.success(
        request, _("{title} is gone, with every link to its pages.").format(title=manual.title)
    )
    return redirect(address_of_owner(manual))


def address_of_owner(manual: Manual) -> str:
    """Return the address of the page with the manuals beside this one."""
    if manual.job_id:
        return reverse("job-manuals", args=[manual.job_id])
    if manual.part_id:
        return reverse("part-manuals", args=[manual.part_id])
    return address_of_model(manual.make, manual.model)


def address_of_model(make: str, model: str) -> str:
    """Return the address of the page with the manuals of a make and model."""
    return f"{reverse('model-manuals')}?{urlencode({'make': make, 'model': model})}"
