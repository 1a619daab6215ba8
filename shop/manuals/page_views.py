"""One manual: its pages in small, a page to read closely, and the file itself."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.lib.refusals import UserFacingError
from shop.lib.text import whole
from shop.manuals import queries, reading
from shop.manuals.models import Manual, ManualPage
from shop.manuals.views import LONGEST, address_of_owner

THUMBNAILS = 24
ZOOMS = (1, 2, 4)
_IMMUTABLE = "private, max-age=31536000, immutable"


@require_GET
@needs("read")
def manual(request: HttpRequest, key: int) -> HttpResponse:
    """Show the pages in small, and find words in them."""
    one = get_object_or_404(Manual.objects.select_related("by"), pk=key)
    typed = request.GET.get("q", "").replace("\0", " ").strip()[:LONGEST]
    these = Manual.objects.filter(pk=key)
    context = {
        "manual": one,
        "pages": Paginator(range(1, one.pages + 1), THUMBNAILS).get_page(request.GET.get("from")),
        "typed": typed,
        "found": queries.search_pages(these, typed) if typed else [],
        "links": queries.links_in_words(these),
        "owner": address_of_owner(one),
    }
    return render(request, "manuals/manual.html", context)


@require_GET
@needs("read")
def turn(request: HttpRequest, key: int) -> HttpResponse:
    """Go to the page whose number was typed; a number that is none leads to the nearest."""
    one = get_object_or_404(Manual, pk=key)
    number = whole(request.GET.get("page", "").strip())
    return redirect("manual-page", key, min(max(number or 1, 1), one.pages))


def show_page(
    request: HttpRequest, key: int, page: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    """Show one page with what it stands beside."""
    one = get_object_or_404(Manual, pk=key)
    if not 1 <= page <= one.pages:
        raise Http404(
            _("There is no page {page}; the last is {pages}.").format(page=page, pages=one.pages)
        )
    zoom = whole(request.GET.get("zoom", "")) or 1
    text = ManualPage.objects.filter(manual=one, number=page).first()
    context: dict[str, Any] = {
        "manual": one,
        "page": page,
        "zoom": zoom if zoom in ZOOMS else 1,
        "zooms": ZOOMS,
        # Whoever looks closely does so on the next page, too.
        "zoomed": f"?zoom={zoom}" if zoom in ZOOMS[1:] else "",
        "size": "whole" if zoom not in ZOOMS[1:] else "large",
        "text": text.text if text else "",
        "links": [
            found
            for found in queries.links_in_words(Manual.objects.filter(pk=key))
            if found.link.page == page
        ],
        "places": queries.places(),
        "typed": request.POST,
        "owner": address_of_owner(one),
        "refused": str(error or ""),
    }
    return render(request, "manuals/page.html", context)


@require_GET
@needs("read")
def page(request: HttpRequest, key: int, page: int) -> HttpResponse:
    """Show one page to read, to look at closely, and to turn."""
    return show_page(request, key, page)


@require_GET
@needs("read")
def picture(request: HttpRequest, key: int, page: int, size: str) -> HttpResponse:
    """Give out a page as a picture: nothing of the file but what it draws."""
    one = get_object_or_404(Manual.objects.select_related("file"), pk=key)
    if size not in reading.SIZES or not 1 <= page <= one.pages:
        raise Http404
    if size == "small" and page == 1:
        drawn = bytes(one.file.cover)
    else:
        try:
            drawn = reading.page_picture(one.title, bytes(one.file.pdf), page, size)
        except UserFacingError as error:
            return HttpResponse(str(error), status=error.status, content_type="text/plain")
    answer = HttpResponse(drawn, content_type="image/jpeg")
    answer["Cache-Control"] = _IMMUTABLE
    return answer


@require_GET
@needs("read")
def pdf(request: HttpRequest, key: int) -> HttpResponse:
    """Give out the file as it came: to be saved, never to be run on a page of this site."""
    one = get_object_or_404(Manual.objects.select_related("file"), pk=key)
    answer = HttpResponse(bytes(one.file.pdf), content_type="application/pdf")
    name = f"{one.title[:100]}.pdf"
    answer["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=name)
    answer["Content-Security-Policy"] = "sandbox; default-src 'none'"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-store"
    return answer
