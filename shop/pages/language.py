"""The shop's own pages speak the language of the settings; programs are always answered in English."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from shop.api.middleware import is_api
from shop.lib import languages


class ShopLanguage:
    """Speaks the language of the shop while a page is made; a page by link turns on its own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer in the language of the shop."""
        if is_api(request):
            return self.get_response(request)
        with languages.of_pages():
            return self.get_response(request)
