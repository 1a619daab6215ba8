"""Moments of a request are told in the time zone of the shop, from the moment it is decided."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shop.preferences import current as preferences


class ShopTime:
    """Goes by the time zone of the settings while a request is answered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer in the time of the shop."""
        with timezone.override(preferences.zone()):
            return self.get_response(request)
