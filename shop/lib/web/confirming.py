"""A last or dangerous move is asked once: the page names what it is about and what follows.

Taking power away never comes through here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

from shop.lib.web import htmx

SURE = "sure"
_NOT_SENT_AGAIN = ("csrfmiddlewaretoken", SURE)


@dataclass(frozen=True, kw_only=True)
class Question:
    """What is asked: a title with the name of the thing, what follows, the button, the way back."""

    title: str
    follows: Sequence[str]
    button: str
    back: str


def unless_sure(request: HttpRequest, question: Question) -> HttpResponse | None:
    """Return the page that asks, with all that was sent; None once it was answered there."""
    if request.POST.get(SURE) == "yes":
        return None
    sent = [
        (name, value)
        for name, values in request.POST.lists()
        for value in values
        if name not in _NOT_SENT_AGAIN
    ]
    context = {"question": question, "sent": sent, "action": request.get_full_path()}
    return htmx.page(request, "confirm.html", "_confirm.html", context)
