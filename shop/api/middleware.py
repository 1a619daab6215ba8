"""Whatever is refused under /api/ is JSON with a sentence, also what never reaches an endpoint."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt

from checklists.engine.quoting import quoted

_SENTENCES = {
    400: "The request cannot be read; look at its address and its headers.",
    403: "Not without a sign-in: send Authorization: Bearer with a token, or the CSRF token of the session.",
    404: "There is nothing at this address.",
    413: "The request is too large; send less.",
    500: "The shop made an error, which is in its log. Look whether it was done before you send it again.",
}


def is_api(request: HttpRequest) -> bool:
    """Whether the address belongs to programs."""
    return request.path == "/api" or request.path.startswith("/api/")


class JsonRefusals:
    """Gives each refusal under /api/ that is a page a sentence in JSON; its headers stay."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, in JSON if it is a refusal."""
        response = self.get_response(request)
        is_json = response.headers.get("Content-Type", "").startswith("application/json")
        if response.status_code < 400 or is_json or not is_api(request):
            return response
        told = JsonResponse({"reason": _reason(request, response)}, status=response.status_code)
        for name in ("Allow", "Retry-After"):
            if name in response.headers:
                told[name] = response.headers[name]
        return told


def _reason(request: HttpRequest, response: HttpResponse) -> str:
    if response.status_code == 405:
        allowed = response.headers.get("Allow", "") or "another verb"
        return f"{request.method} is not possible here; use {allowed}."
    return _SENTENCES.get(response.status_code, f"Refused with {response.status_code}.")


@csrf_exempt
def nothing_here(request: HttpRequest) -> JsonResponse:
    """Answer for an address that the API does not have, whatever the verb."""
    slash = "" if request.path.endswith("/") else " Addresses end with a slash."
    reason = f"There is nothing at {quoted(request.path)}.{slash}"
    return JsonResponse({"reason": reason}, status=404)
