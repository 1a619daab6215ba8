"""The last two answers of the API that would not be JSON: wrong verb and wrong address."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse

PREFIX = "/api/v1/"


class JsonRefusals:
    """Gives 405 under the API a sentence; it keeps the header that names the right verbs."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, in JSON if it is the API's 405."""
        response = self.get_response(request)
        if response.status_code != 405 or not request.path.startswith(PREFIX):
            return response
        allowed = response.headers.get("Allow", "")
        reason = f"{request.method} is not possible here; use {allowed or 'another verb'}."
        return JsonResponse({"reason": reason}, status=405, headers={"Allow": allowed})


def nothing_here(request: HttpRequest) -> JsonResponse:
    """Answer for an address that the API does not have."""
    slash = "" if request.path.endswith("/") else " Addresses end with a slash."
    return JsonResponse({"reason": f"There is nothing at {request.path}.{slash}"}, status=404)
