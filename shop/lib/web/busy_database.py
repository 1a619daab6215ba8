"""A locked, full or absent database is a sentence, not an error of the framework."""

from __future__ import annotations

import logging
import time
from collections import deque
from collections.abc import Callable

from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string

log = logging.getLogger(__name__)
RETRY_AFTER_SECONDS = 5
# So long after a write found no room, there is taken to be none.
_FULL_SECONDS = 30.0
_FULL = ("disk is full", "no space left", "could not extend file")
BUSY = "The database is busy with something else."
NO_ROOM = "There is no room left on the disk."
_ADVICE = {BUSY: "try again in a moment", NO_ROOM: "make room, then try again"}
_KEPT = (
    " Mains off is not recorded yet. What counts is the plug: pull it, and see that it is out."
    " It is recorded as soon as the database answers, if this permit still stands; look again."
)
_MAINS = " What counts is the plug: pull it, see that it is out, and record it again."

_found_full: deque[float] = deque(maxlen=1)


class Postponed(OperationalError):
    """That mains is off could not be recorded; it is kept until it can be."""


class BusyDatabase:
    """Answers 503 with a sentence, in JSON under the API, when the database cannot serve."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer; what middleware below cannot read from the database ends here too."""
        try:
            return self.get_response(request)
        except (OperationalError, InterfaceError) as error:
            if _of_the_shop(error):
                raise
            return self._answer(request, error)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer for a view whose database cannot serve; everything else goes on."""
        if isinstance(error, OperationalError | InterfaceError) and not _of_the_shop(error):
            return self._answer(request, error)
        return None

    def _answer(self, request: HttpRequest, error: DatabaseError | InterfaceError) -> HttpResponse:
        log.warning("the database cannot serve: %s", error)
        sentence = reason(error)
        if why(error) == NO_ROOM:
            _found_full.append(time.monotonic())
        if (
            not isinstance(error, Postponed)
            and request.method == "POST"
            and request.path.rstrip("/").endswith("/power")
        ):
            sentence += _MAINS
        if request.path.startswith("/api/"):
            response: HttpResponse = JsonResponse({"reason": sentence}, status=503)
        else:
            # Without the request: what surrounds a page would ask the database again.
            response = HttpResponse(render_to_string("503.html", {"reason": sentence}), status=503)
        response["Retry-After"] = str(RETRY_AFTER_SECONDS)
        return response


def _of_the_shop(error: Exception) -> bool:
    """Whether tables do not fit the program: SQLite calls that operational too, and no wait helps."""
    return str(error).lower().startswith("no such ")


def was_full() -> bool:
    """Whether a request found no room on the disk a moment ago."""
    return bool(_found_full) and time.monotonic() - _found_full[0] < _FULL_SECONDS


def why(error: Exception) -> str:
    """Return what is wrong with the database, as a sentence."""
    said = str(error).lower()
    return NO_ROOM if any(words in said for words in _FULL) else BUSY


def reason(error: Exception) -> str:
    """Return the sentence for an error of the database, and what to do."""
    what = why(error)
    if isinstance(error, Postponed):
        return what + _KEPT
    return f"{what} Nothing was recorded; {_ADVICE[what]}."
