"""Keys of a desk: the list of them, and whether this device follows them (WCAG 2.1.4)."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import needs
from shop.lib.web import htmx

COOKIE, OFF, KEPT_SECONDS = "singlekeys", "off", 5 * 365 * 86_400
# What each key does; none signs, writes, or moves mains or the cover by itself.
KEYS = (
    ("n", _("Go to the next act of this job, or to the next act of the shop.")),
    ("s", _("Go to the button that signs. Enter then signs.")),
    ("f", _("Go to the button that records a fail. Enter then records it.")),
    ("w", _("Go to what can be written down.")),
    ("/", _("Search.")),
    ("?", _("Show this list.")),
)


def followed(request: HttpRequest) -> bool:
    """Tell whether this device follows single keys."""
    return request.COOKIES.get(COOKIE) != OFF


@require_http_methods(["GET", "POST"])
@needs("read")
def keys(request: HttpRequest) -> HttpResponse:
    """List the keys, or turn them on or off on this device."""
    if request.method != "POST":
        context = {"keys": KEYS, "followed": followed(request)}
        return htmx.page(request, "accounts/keys.html", "accounts/_keys.html", context)
    answer = redirect("keys")
    word = OFF if request.POST.get("keys") == OFF else "on"
    answer.set_cookie(COOKIE, word, max_age=KEPT_SECONDS, samesite="Lax", httponly=True)
    return answer
