"""Tour for somebody's first visit to a page; put away on this device once they are known.

What was put away is kept in a cookie that holds names of pages and nothing of anybody.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.functional import Promise
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from shop.accounts.roles import needs

COOKIE, KEPT_SECONDS = "known", 5 * 365 * 86_400


@dataclass(frozen=True)
class Tour:
    """What a page is for, and what to do on it first."""

    page: str
    title: str | Promise
    sentences: tuple[str | Promise, ...]


PAGES = {
    tour.page: tour
    for tour in (
        Tour(
            "bench",
            _("First time here?"),
            (
                _(
                    "This page says what has mains on it, in red at the top; what your hands can do next; who waits on what."
                ),
                _("A unit comes in under Receive. From then on its own page says what to do next."),
                _(
                    "A unit with mains stands at the top of every page. Pull its plug by hand, then record it there; anybody may."
                ),
            ),
        ),
        Tour(
            "traveller",
            _("This is the sheet of one unit"),
            (
                _(
                    "The line of stations shows where it is; the gates between them hold it until their steps are signed."
                ),
                _(
                    "The card says the one thing to do now, with a field for its reading. Press Done, and the next one comes up."
                ),
                _(
                    "Mains is refused until every hold step of its gate stands. What you write down later can end a signature; the step then says why."
                ),
            ),
        ),
        Tour(
            "receive",
            _("Taking a unit in"),
            (
                _(
                    "Only write what you know. What you leave empty is not guessed: its checks stay on the list."
                ),
                _(
                    "On the telephone, make, complaint, name and number are enough; the rest can follow at the counter."
                ),
            ),
        ),
        Tour(
            "backlog",
            _("What waits"),
            (
                _("Parts that are needed, ordered and late; what to do meanwhile is listed too."),
                _(
                    "Order a basket: the cheapest way to buy all of it is worked out for you, postage and waiting included."
                ),
            ),
        ),
        Tour(
            "soak",
            _("The long run"),
            (
                _(
                    "The clock says when to read what. A reading outside its limit cannot be ended as good."
                ),
                _("Never leave the building while a repaired unit runs for the first time."),
            ),
        ),
        Tour(
            "estimate",
            _("Asking the customer"),
            (
                _(
                    "Draft it, send it: the customer says yes, no or asks, on a page of their own, or you note what they said on the telephone."
                ),
                _("What comes up beyond it later holds the unit until it is agreed."),
            ),
        ),
        Tour(
            "photos",
            _("What a picture is good for"),
            (
                _(
                    "Take the parcel as it came, the board before the work, and the same view after it under the picture from before."
                ),
                _("The customer sees those marked for them, never the parcel unless you say so."),
            ),
        ),
    )
}


def dismissed_pages(request: HttpRequest) -> set[str]:
    """Return the pages whose words were put away on this device."""
    return set(request.COOKIES.get(COOKIE, "").split(".")) & PAGES.keys()


def for_templates(request: HttpRequest) -> dict[str, dict[str, Tour]]:
    """Give templates the words that were not put away yet, by page."""
    dismissed = dismissed_pages(request)
    return {"tours": {page: tour for page, tour in PAGES.items() if page not in dismissed}}


@require_POST
@needs("read")
def dismiss(request: HttpRequest) -> HttpResponse:
    """Put the words of a page away, or of all pages; or take all of them out again."""
    page = request.POST.get("page", "")
    dismissed = dismissed_pages(request) | ({page} & PAGES.keys())
    if page in ("all", "none"):
        dismissed = set(PAGES) if page == "all" else set()
    back = request.POST.get("next", "/")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None) and back.startswith("/")
    answer = redirect(back if safe else "/")
    answer.set_cookie(
        COOKIE, ".".join(sorted(dismissed)), max_age=KEPT_SECONDS, samesite="Lax", httponly=True
    )
    return answer
