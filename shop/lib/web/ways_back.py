"""Back to the page that a form stood on."""

from __future__ import annotations

from urllib.parse import urlsplit

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def way_back(request: HttpRequest) -> str:
    """Return path and query of the page of this site that sent the request; empty when not told."""
    return _of_this_site(request, request.headers.get("Referer", ""))


def way_on(request: HttpRequest) -> str:
    """Return path and query that the form carries as `back`; empty when they lead elsewhere."""
    return _of_this_site(request, request.POST.get("back", ""))


def _of_this_site(request: HttpRequest, came_from: str) -> str:
    if not url_has_allowed_host_and_scheme(came_from, allowed_hosts={request.get_host()}):
        return ""
    parts = urlsplit(came_from)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path
