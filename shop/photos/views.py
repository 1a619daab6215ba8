"""The pictures of a job: take, look, pair, show to the customer, take away."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from checklists.engine.figures import grouped
from shop.accounts.roles import needs, require, signed_in
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.lib.refusals import BadInput
from shop.lib.web.ways_back import way_back
from shop.photos import form_uploads, processing, services
from shop.photos.form_uploads import UploadResult
from shop.photos.models import Photo
from shop.photos.subjects import groups, subjects


def _page(request: HttpRequest, job: Job, result: UploadResult | None = None) -> HttpResponse:
    """Show the pictures; what was taken just now names those that were refused."""
    sheet = Traveller.of(job)
    context: dict[str, Any] = {
        "job": job,
        "subjects": subjects(sheet),
        "groups": groups(sheet, services.photos_visible_to(request.user, job)),
        "refused": result.refused if result else [],
        "kept": result.kept if result else 0,
        "typed": request.POST,
        "largest": processing.LARGEST_FILE // 2**20,
    }
    return render(request, "photos/photos.html", context, status=422 if result else 200)


@require_GET
@job_page("read")
def photos(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job)


@require_GET
@job_page("read")
def strip(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Show the newest pictures in small, for the sheet of the job."""
    visible = services.photos_visible_to(request.user, job)
    context = {"job": job, "photos": visible[-6:], "count": len(visible)}
    return render(request, "photos/_strip.html", context)


@require_POST
@job_page("note")
def add(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Take one picture or several; each that is refused is named, the others are kept.

    The script of the page sends them one by one and is answered in JSON.
    """
    result = _save_uploads(request, job)
    if request.headers.get("Accept") == "application/json":
        return JsonResponse(asdict(result), status=422 if result.refused else 200)
    if result.refused:
        return _page(request, job, result)
    kept = ngettext("{count} picture kept.", "{count} pictures kept.", result.kept)
    messages.success(request, kept.format(count=grouped(result.kept)))
    if request.POST.get("next") == "back" and (path := way_back(request)):
        return redirect(path)
    return redirect("photos", job.number)


def _save_uploads(request: HttpRequest, job: Job) -> UploadResult:
    of, caption, before = (request.POST.get(name, "") for name in ("of", "caption", "before"))
    try:
        # What they show comes first: it is cheap to judge, a picture is not.
        subject = services.photo_subject(Traveller.of(job), of, caption, before)
    except BadInput as error:
        return UploadResult(refused=[str(error)])
    result = form_uploads.save_uploads(request, job.number, subject)
    return (
        result
        if result.kept or result.refused
        else UploadResult(refused=[_("No picture was chosen.")])
    )


@require_GET
@needs("read")
def picture(request: HttpRequest, key: int, size: str) -> HttpResponse:
    """Give out the bytes of a picture, whole or small."""
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    if photo.subject == Photo.PARCEL:
        require(request.user, "note")
    return answer_with(photo, size)


def answer_with(photo: Photo, size: str) -> HttpResponse:
    """Return a picture as an answer; the bytes of a photo never change.

    `small` and `whole` are the original; `small-HASH` and `whole-HASH` have the marks of that hash.
    """
    column, _, marked = size.partition("-")
    if column not in ("whole", "small"):
        raise Http404
    if marked and marked != photo.marked_sha256[:8]:
        raise Http404
    image = photo.image.marked if marked else photo.image
    answer = HttpResponse(bytes(getattr(image, column)), content_type="image/jpeg")
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer


@require_POST
@needs("note")
def show(request: HttpRequest, key: int) -> HttpResponse:
    """Let the customer see a picture by link, or no longer."""
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    photo.visible_to_customer = request.POST.get("shown") == "yes"
    photo.save(update_fields=["visible_to_customer"])
    sentence = (
        _("The customer sees it.")
        if photo.visible_to_customer
        else _("The customer does not see it.")
    )
    messages.success(request, sentence)
    return redirect("photos", photo.job_id)


@require_POST
@needs("persons")
def remove(request: HttpRequest, key: int) -> HttpResponse:
    """Take a picture away for good."""
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    services.remove_photo(photo, by=signed_in(request), at=timezone.now())
    messages.success(request, _("The picture is gone; that it was there stays in the ledger."))
    return redirect("photos", photo.job_id)
