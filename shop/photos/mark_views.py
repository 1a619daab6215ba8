"""The page on which a picture is marked: an arrow, a ring, words; by pointer, or by numbers."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import on_error
from shop.photos import marks as services
from shop.photos.models import Photo, PhotoMark

PLACES = (
    ("x1", gettext_lazy("from left")),
    ("y1", gettext_lazy("from top")),
    ("x2", gettext_lazy("from left")),
    ("y2", gettext_lazy("from top")),
)


def _page(request: HttpRequest, key: int, *, error: UserFacingError | None = None) -> HttpResponse:
    photo = get_object_or_404(Photo, pk=key, removed_at=None)
    typed = request.POST
    context = {
        "photo": photo,
        "job": photo.job,
        "marks": photo.marks.filter(taken_back_at=None).select_related("by"),
        "shapes": PhotoMark.SHAPES,
        "shape": typed.get("shape", PhotoMark.ARROW),
        "words": typed.get("words", ""),
        "start": [(name, label, typed.get(name, "")) for name, label in PLACES[:2]],
        "end": [(name, label, typed.get(name, "")) for name, label in PLACES[2:]],
        "tens": range(10, 100, 10),
        "refused": str(error or ""),
    }
    return render(request, "photos/marks.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("note")
@on_error(_page)
def marks(request: HttpRequest, key: int) -> HttpResponse:
    """Show a picture with its marks, and draw another."""
    if request.method == "POST":
        services.add_mark(
            get_object_or_404(Photo, pk=key, removed_at=None),
            request.POST.get("shape", ""),
            {name: request.POST.get(name, "") for name, _ in PLACES},
            request.POST.get("words", ""),
            by=signed_in(request),
            at=timezone.now(),
        )
        messages.success(request, _("Marked. The original stays."))
        return redirect("photo-marks", key)
    return _page(request, key)


@require_POST
@needs("note")
def back(request: HttpRequest, key: int) -> HttpResponse:
    """Take a mark off again."""
    mark = get_object_or_404(PhotoMark, pk=key, photo__removed_at=None)
    services.take_back(mark, by=signed_in(request), at=timezone.now())
    messages.success(request, _("The mark is taken off."))
    return redirect("photo-marks", mark.photo_id)
