"""One line of log for each request, with a number that ties the lines of a request together."""

from __future__ import annotations

import logging
import re
import time
import uuid
from collections.abc import Callable
from contextvars import ContextVar

from django.http import HttpRequest, HttpResponse

log = logging.getLogger("shop.requests")
# The address of a customer's page or of a calendar is the key to it, and has no business in a log.
_SECRET = re.compile(r"(/(?:your-unit|calendar)/)[^\s?\"'<>]+")
_USABLE = re.compile(r"[A-Za-z0-9._-]{8,64}")
_number: ContextVar[str] = ContextVar("request_number", default="")


class NumberRequests(logging.Filter):
    """Puts the number of the request on every line that is logged during it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Mark the record; every record passes."""
        record.request_id = _number.get()
        return True


class HideKeys(logging.Filter):
    """Takes the keys of customers' pages and of calendars out of every line, whichever library logs it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Rewrite a record that names such a page; every record passes."""
        try:
            said = record.getMessage()
        except (TypeError, ValueError):
            return True  # words and arguments do not fit; the handler tells of it
        if _SECRET.search(said):
            record.msg, record.args = hidden(said), None
        return True


def hidden(words: str) -> str:
    """Return words with the keys left out."""
    return _SECRET.sub(r"\1...", words)


class RequestLogMiddleware:
    """Numbers requests (a proxy's number is kept), answers with it, and logs what came of them."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        given = request.headers.get("X-Request-ID", "")
        number = given if _USABLE.fullmatch(given) else uuid.uuid4().hex
        mark = _number.set(number)
        started = time.perf_counter()
        try:
            response = self.get_response(request)
            self._log(request, response, time.perf_counter() - started)
        finally:
            _number.reset(mark)
        response["X-Request-ID"] = number
        return response

    def _log(self, request: HttpRequest, response: HttpResponse, seconds: float) -> None:
        # The path without its query: what people search for is nobody's business.
        line = {
            "method": request.method,
            "path": hidden(request.path),
            "status": response.status_code,
            "milliseconds": round(seconds * 1000, 1),
        }
        level = logging.ERROR if response.status_code >= 500 else logging.INFO
        log.log(level, "%(method)s %(path)s %(status)s %(milliseconds)s ms", line, extra=line)
