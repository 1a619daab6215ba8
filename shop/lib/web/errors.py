"""Refusals on pages: a sentence and what was typed, not a stack of the framework's."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render

from shop.lib.refusals import Forbidden, UserFacingError

View = Callable[..., HttpResponseBase]


def on_error(show: View) -> Callable[[View], View]:
    """Answer a UserFacingError of the view with `show`, called as the view was, plus `error`."""

    def mark(view: View) -> View:
        @wraps(view)
        def answering(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            try:
                return view(request, *args, **kwargs)
            except UserFacingError as error:
                return with_status(show(request, *args, error=error, **kwargs), error)

        return answering

    return mark


def with_status(response: HttpResponseBase, error: UserFacingError) -> HttpResponseBase:
    """Put a page under the status of its error; a redirect, whose page says it, stays one."""
    if response.status_code == 200:
        response.status_code = error.status
    return response


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
