"""The pictures of a job: take, look, pair, show to the customer, take away."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, require, signed_in
from shop.jobs import queries
from shop.jobs.queries import Traveller
from shop.lib.refusals import BadInput
from shop.photos import intake, processing, services
from shop.photos.models import Photo
from shop.photos.subjects import groups, subjects


@require_GET
@needs("read")
def photos(request: HttpRequest, number: int) -> HttpResponse:
    return _page(request, number)


@require_GET
@needs("read")
def strip(request: HttpRequest, number: int) -> HttpResponse:
    """Show the newest pictures in small, for the sheet of the job."""
    job = queries.job(number, timezone.now())
    found = services.seen_by(request.user, job)
    context = {"job": job, "photos": found[-6:], "count": len(found)}
    return render(request, "photos/_strip.html", context)


@require_POST
@needs("note")
def add(request: HttpRequest, number: int) -> HttpResponse:
    """Take one picture or several; each that is refused is named, the others are kept.

    The script of the page sends them one by one and is answered in JSON.
    """
    sheet = Traveller.of(queries.job(number, timezone.now()))
    said = (request.POST.get(field, "") for field in ("of", "caption", "before"))
    try:
        # What they show comes first: it is cheap to judge, a picture is not.
        done = intake.take(request, number, services.about(sheet, *said))
    except BadInput as error:
        done = intake.Taken(refused=[str(error)])
    if not done.kept and not done.refused:
        done.refused.append("No picture was chosen.")
    if request.headers.get("Accept") == "application/json":
        told = {"kept": done.kept, "refused": done.refused}
        return JsonResponse(told, status=422 if done.refused else 200)
    if done.refused:
        return _page(request, number, refused=done.refused, kept=done.kept, status=422)
    messages.success(request, f"{done.kept} picture{'' if done.kept == 1 else 's'} kept.")
    return redirect("photos", number)


@require_GET
@needs("read")
def picture(request: HttpRequest, key: int, size: str) -> HttpResponse:
    """Give out the bytes of a picture, whole or small."""
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    if photo.subject == Photo.PARCEL:
        require(request.user, "note")
    return answer_with(photo, size)


def answer_with(photo: Photo, size: str) -> HttpResponse:
    """Return a picture as an answer; the bytes of a photo never change."""
    if size not in ("whole", "small"):
        raise Http404
    answer = HttpResponse(bytes(getattr(photo.picture, size)), content_type="image/jpeg")
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer


@require_POST
@needs("note")
def show(request: HttpRequest, key: int) -> HttpResponse:
    """Let the customer see a picture by link, or no longer."""
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    photo.shown = request.POST.get("shown") == "yes"
    photo.save(update_fields=["shown"])
    said = "The customer sees it." if photo.shown else "The customer does not see it."
    messages.success(request, said)
    return redirect("photos", photo.job_id)


@require_POST
@needs("persons")
def remove(request: HttpRequest, key: int) -> HttpResponse:
    """Take a picture away for good."""
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    services.remove(photo, by=signed_in(request), at=timezone.now())
    messages.success(request, "The picture is gone; that it was there stays in the ledger.")
    return redirect("photos", photo.job_id)


def _page(
    request: HttpRequest,
    number: int,
    *,
    refused: list[str] | None = None,
    kept: int = 0,
    status: int = 200,
) -> HttpResponse:
    sheet = Traveller.of(queries.job(number, timezone.now()))
    context: dict[str, Any] = {
        "job": sheet.job,
        "subjects": subjects(sheet),
        "groups": groups(sheet, services.seen_by(request.user, sheet.job)),
        "refused": refused or [],
        "kept": kept,
        "typed": request.POST,
        "largest": processing.LARGEST_FILE // 2**20,
    }
    return render(request, "photos/photos.html", context, status=status)
