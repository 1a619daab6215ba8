"""Refusals on pages: a wrong role gets a sentence, not a stack of the framework's."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.lib.refusals import Forbidden


class RefusalMiddleware:
    """Turns Forbidden raised by a page into a 403 with its sentence."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer for Forbidden; everything else goes on."""
        if isinstance(error, Forbidden):
            return render(request, "403.html", {"reason": str(error)}, status=403)
        return None
