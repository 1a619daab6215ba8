"""Words for somebody's first visit to a page; put away on this device once they are known.

What was put away is kept in a cookie that holds names of pages and nothing of anybody.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from shop.accounts.roles import needs

COOKIE, KEPT_SECONDS = "known", 5 * 365 * 86_400


@dataclass(frozen=True)
class Words:
    """What a page is for, and what to do on it first."""

    page: str
    title: str
    sentences: tuple[str, ...]


PAGES = {
    words.page: words
    for words in (
        Words(
            "bench",
            "First time here?",
            (
                "This page says what has mains on it, in red at the top; what your hands can do next; who waits on what.",
                "A unit comes in under Receive. From then on its own sheet tells the next step.",
                "Mains off is always allowed, by anybody, from here too.",
            ),
        ),
        Words(
            "traveller",
            "This is the sheet of one unit",
            (
                "The line of stations shows where it is; the gates between them hold it until their steps are signed.",
                "The next step stands large, with a field for its reading. Sign it, and the next one comes up.",
                "Mains is refused until every hold step of its gate stands. What you write down later can end a signature; the step then says why.",
            ),
        ),
        Words(
            "receive",
            "Taking a unit in",
            (
                "Only write what you know. What you leave empty is not guessed: its checks stay on the list.",
                "On the telephone, make, complaint, name and number are enough; the rest can follow at the counter.",
            ),
        ),
        Words(
            "backlog",
            "What waits",
            (
                "Parts that are needed, ordered and late; what to do meanwhile stands on top.",
                "Order a basket: the cheapest way to buy all of it is worked out for you, postage and waiting included.",
            ),
        ),
        Words(
            "soak",
            "The long run",
            (
                "The clock says when to read what. A reading outside its limit cannot be ended as good.",
                "Never leave the building while a repaired unit runs for the first time.",
            ),
        ),
        Words(
            "estimate",
            "Asking the customer",
            (
                "Draft it, send it: the customer says yes, no or asks, on a page of their own, or you note what they said on the telephone.",
                "What comes up beyond it later holds the unit until it is agreed.",
            ),
        ),
        Words(
            "photos",
            "What a picture is good for",
            (
                "Take the parcel as it came, the board before the work, and the same view after it under the picture from before.",
                "The customer sees those marked for them, never the parcel unless you say so.",
            ),
        ),
    )
}


def known(request: HttpRequest) -> set[str]:
    """Return the pages whose words were put away on this device."""
    return set(request.COOKIES.get(COOKIE, "").split(".")) & PAGES.keys()


def for_templates(request: HttpRequest) -> dict[str, dict[str, Words]]:
    """Give templates the words that were not put away yet, by page."""
    away = known(request)
    return {"tours": {page: words for page, words in PAGES.items() if page not in away}}


@require_POST
@needs("read")
def put_away(request: HttpRequest) -> HttpResponse:
    """Put the words of a page away, or of all pages; or take all of them out again."""
    page = request.POST.get("page", "")
    away = known(request) | ({page} & PAGES.keys())
    if page in ("all", "none"):
        away = set(PAGES) if page == "all" else set()
    back = request.POST.get("next", "/")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None) and back.startswith("/")
    answer = redirect(back if safe else "/")
    answer.set_cookie(
        COOKIE, ".".join(sorted(away)), max_age=KEPT_SECONDS, samesite="Lax", httponly=True
    )
    return answer
