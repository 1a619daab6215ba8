"""The description of the API (OpenAPI 3.1): what every call may answer besides its result."""

from __future__ import annotations

from typing import Any

from shop.api import once

_SAID = {
    401: "Nobody is signed in, or the token does not stand.",
    403: "The role or the token does not allow it.",
    413: "The body is larger than 32 MB.",
    422: "Input that cannot be taken.",
    503: "The database cannot serve just now; try again after Retry-After.",
}
_PROBLEMS = "Refusal422"
_REPLAYED = {
    "description": "Only when the request was carried out before: the answer is that to a replay.",
    "schema": {"type": "string", "enum": ["true"]},
}
_KEY = {
    "in": "header",
    "name": once.HEADER,
    "required": False,
    "description": "Sent again with the same key and body within 24 hours, it is done once.",
    "schema": {"type": "string", "minLength": 1, "maxLength": once.LONGEST_KEY + 2},
}


def completed(document: dict[str, Any]) -> dict[str, Any]:
    """Add to each operation the refusals that all have, and to POST its key. Changes it in place."""
    for path in document["paths"].values():
        for verb, operation in path.items():
            _add_refusals(operation, reads=verb == "get")
            if verb == "post":
                _add_key(operation)
    return document


def _add_refusals(operation: dict[str, Any], *, reads: bool) -> None:
    answers = operation["responses"]
    wanted = [401, 403, 503]
    wanted += [] if reads else [413]
    wanted += [422] if "requestBody" in operation or operation.get("parameters") else []
    for status in wanted:
        name = _PROBLEMS if status == 422 else "Reason"
        shape = {"schema": {"$ref": f"#/components/schemas/{name}"}}
        answers.setdefault(status, {"content": {"application/json": shape}})
        answers[status]["description"] = _SAID[status]


def _add_key(operation: dict[str, Any]) -> None:
    operation.setdefault("parameters", []).append(dict(_KEY))
    for status, answer in operation["responses"].items():
        if status < 300 or status == 409:
            answer["headers"] = {once.REPLAYED_HEADER: dict(_REPLAYED)}
