"""The customer's pages: no account, one job, the same few things whoever holds the address."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.bills import paper
from shop.bills.models import Bill
from shop.customers import languages
from shop.customers.links import keys
from shop.customers.links.models import CustomerLink
from shop.jobs import commands
from shop.lib.limits import allow
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web.errors import View, on_error
from shop.pages.customer.bills import shown_bills
from shop.pages.customer.customer_view import shown
from shop.photos.models import Photo
from shop.photos.views import answer_with
from shop.preferences import current as preferences

# For one link and minute, answers for one link and hour, and wrong addresses a minute in all:
# far above what a person does.
LOOKS, ANSWERS, GUESSES = 120, 20, 60
_MINUTE, HOUR = 60, 3600


def opened_by(
    opened: Callable[..., Any], what: str, reads: Callable[[Any], str]
) -> Callable[[View], View]:
    """Return the mark of views that are opened by the token in their address; it guards what leaves.

    `opened` returns the row of a token or None; `what` is the name under which looks are counted;
    `reads` returns the language that is on record for whoever holds it, empty for none.
    """

    def mark(view: View) -> View:
        def answered(request: HttpRequest, row: Any, **more: Any) -> HttpResponseBase:
            if row is None:
                return _gone(request)
            if not allow(f"{what}/{row.pk}", LOOKS, seconds=_MINUTE):
                return slowly(request)
            return view(request, row, **more)

        @wraps(view)
        def guarded(request: HttpRequest, token: str, **more: Any) -> HttpResponseBase:
            row = opened(token, now=timezone.now())
            language = languages.read_by(request, reads(row) if row else "")
            with translation.override(language):
                answer = answered(request, row, **more)
            answer["Content-Language"] = language
            # Nothing to other places; a form of the page itself must still say where it comes from.
            answer["Referrer-Policy"] = "same-origin"
            answer["X-Robots-Tag"] = "noindex"
            if "Cache-Control" not in answer:
                answer["Cache-Control"] = "no-store"
            return answer

        guarded.by_link = True  # type: ignore[attr-defined]
        return guarded

    return mark


def _reads(link: CustomerLink) -> str:
    customer = languages.customer_of(link.job)
    return customer.language if customer else ""


by_link = opened_by(keys.opened, "link", _reads)


def _gone(request: HttpRequest) -> HttpResponse:
    if not allow("link-guesses", GUESSES, seconds=_MINUTE):
        return slowly(request)
    return render(request, "pages/customer/gone.html", status=404)


def slowly(request: HttpRequest) -> HttpResponse:
    """Say that it was too much at once."""
    return render(request, "pages/customer/slowly.html", status=429)


def _page(
    request: HttpRequest, link: CustomerLink, *, error: UserFacingError | None = None
) -> HttpResponse:
    link.job.refresh_from_db()
    context = {
        "shown": shown(link.job, timezone.now()),
        "bills": shown_bills(link.job, timezone.localdate()),
        "token": keys.token(link),
        "refused": str(error or ""),
        "typed": request.POST,
    }
    return render(request, "pages/customer/your_unit.html", context)


def _few(view: View) -> View:
    """Take only so many answers through one link: far more than a person gives."""

    @wraps(view)
    def limited(request: HttpRequest, link: CustomerLink) -> HttpResponseBase:
        if not allow(f"link-answers/{link.pk}", ANSWERS, seconds=HOUR):
            return slowly(request)
        return view(request, link)

    return limited


@require_GET
@by_link
def your_unit(request: HttpRequest, link: CustomerLink) -> HttpResponse:
    CustomerLink.objects.filter(pk=link.pk).update(seen_at=timezone.now())
    return _page(request, link)


@require_GET
@by_link
def photo(request: HttpRequest, link: CustomerLink, key: int, size: str) -> HttpResponse:
    """Give out a picture of this job that is shown to the customer."""
    known = get_object_or_404(
        Photo, pk=key, job=link.job, visible_to_customer=True, removed_at=None
    )
    return answer_with(known, size)


@require_GET
@by_link
def bill(request: HttpRequest, link: CustomerLink, key: int) -> HttpResponse:
    """Give out the paper of a bill of this job, once it is issued."""
    issued = Bill.objects.select_related("job__unit", "corrects").filter(place__isnull=False)
    known = get_object_or_404(issued, pk=key, job=link.job)
    pdf = paper.pdf_of(known, preferences.value("paper_size"))
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{paper.file_name(known)}"'
    return answer


@require_POST
@by_link
@_few
@on_error(_page)
def answer(request: HttpRequest, link: CustomerLink) -> HttpResponse:
    """Take a yes, a no or a question to the estimate."""
    version = whole(request.POST.get("version", "")) or 0
    given, note = request.POST.get("answer", ""), request.POST.get("note", "")
    if given == "question" and not note.strip():
        raise bad("note", _("The question is empty; write it down."))
    commands.record_estimate_answer(
        link.job_id, given, version=version, note=note, at=timezone.now()
    )
    return redirect("your-unit", keys.token(link))


@require_POST
@by_link
@_few
@on_error(_page)
def ask(request: HttpRequest, link: CustomerLink) -> HttpResponse:
    """Take a question."""
    commands.record_question(link.job_id, request.POST.get("question", ""), at=timezone.now())
    return redirect("your-unit", keys.token(link))
