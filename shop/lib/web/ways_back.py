"""Back to the page that a form stood on."""

from __future__ import annotations

from urllib.parse import urlsplit

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def way_back(request: HttpRequest) -> str:
    """Return path and query of the page of this site that sent the request; empty when not told."""
    came_from = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(came_from, allowed_hosts={request.get_host()}):
        return ""
    parts = urlsplit(came_from)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path
