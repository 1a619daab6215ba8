"""Full page or fragment from one view."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect


def wants_fragment(request: HttpRequest) -> bool:
    """Tell whether htmx asked, and not for a whole page it restores from history."""
    htmx = getattr(request, "htmx", None)
    return htmx is not None and bool(htmx) and not htmx.history_restore_request


def target(request: HttpRequest) -> str:
    """Return the id of what the answer is put into; empty when htmx did not ask."""
    return request.headers.get("HX-Target", "") if wants_fragment(request) else ""


def page(
    request: HttpRequest, full: str, fragment: str, context: dict[str, Any], status: int = 200
) -> HttpResponse:
    """Render the fragment for htmx and the full page for everybody else."""
    chosen = fragment if wants_fragment(request) else full
    response = render(request, chosen, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response


def see_other(url_name: str, *args: object) -> HttpResponse:
    """Send htmx on to another page, of which it is given the part; 302 would load it whole."""
    response = redirect(url_name, *args)
    response.status_code = 303
    return response


class SignInMiddleware:
    """Turns the redirect to sign-in into a full navigation when htmx asked for a fragment."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 302 and wants_fragment(request):
            return HttpResponseClientRedirect(response["Location"])
        return response
