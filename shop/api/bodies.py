"""Bodies of requests: JSON of a size that a person or a program of the bench has use for."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpRequest
from ninja.parser import Parser

from checklists.engine.figures import grouped

# Of one object; the longest that the shop itself knows has a hundred.
MOST_NAMES = 20_000
_NO_JSON = "The body is not readable as JSON; send one JSON object."


class TooMuch(ValueError):
    """A body that is JSON and more than is read; the message is a sentence."""


class Bounded(Parser):
    """Reads JSON, and looks at none of it when an object has too many names."""

    def parse_body(self, request: HttpRequest) -> Any:
        """Return what the body holds; TooMuch, ValueError or RecursionError when it cannot be read."""
        return json.loads(request.body, object_pairs_hook=_object)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len(pairs) > MOST_NAMES:
        raise TooMuch(
            f"An object of the body has {grouped(len(pairs))} names; at most"
            f" {grouped(MOST_NAMES)} are read."
        )
    return dict(pairs)


def why_unreadable(error: BaseException | None) -> str:
    """Return the sentence for a body that could not be read."""
    if isinstance(error, TooMuch):
        return str(error)
    if isinstance(error, RecursionError):
        return "The body is nested too deeply; no field of the API holds more than four levels."
    if isinstance(error, ValueError) and "limit" in str(error) and "digits" in str(error):
        return "The body holds a number of more than 4,300 digits; no field takes one."
    return _NO_JSON
