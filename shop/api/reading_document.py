"""The description of the API (OpenAPI 3.1) as a page shows it: calls by their subject, shapes in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

Document = dict[str, Any]
_DEEPEST = 2


@dataclass(frozen=True, slots=True)
class Named:
    """A field, a parameter or an answer: its name, what it is, and what is said of it."""

    name: str
    what: str
    about: str = ""
    required: bool = False


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the API."""

    verb: str
    path: str
    subject: str
    title: str
    about: str
    parameters: list[Named]
    body: list[Named]
    answers: list[Named]


def subjects(document: Document) -> list[tuple[str, list[Call]]]:
    """Return the calls in the order of the document, by subject."""
    found = sorted(_calls(document), key=lambda call: call.subject)
    return [(subject, list(calls)) for subject, calls in groupby(found, lambda c: c.subject)]


def _calls(document: Document) -> Iterator[Call]:
    for path, verbs in document["paths"].items():
        for verb, operation in verbs.items():
            yield Call(
                verb=verb.upper(),
                path=path,
                subject=(operation.get("tags") or ["others"])[0],
                title=operation.get("summary", ""),
                about=operation.get("description", ""),
                parameters=[_parameter(document, one) for one in operation.get("parameters", [])],
                body=list(_body(document, operation)),
                answers=[
                    Named(str(status), _of_content(document, answer), answer["description"])
                    for status, answer in operation["responses"].items()
                ],
            )


def _parameter(document: Document, given: dict[str, Any]) -> Named:
    what = f"{_words(document, given['schema'])}, in the {given['in']}"
    return Named(given["name"], what, given.get("description", ""), given.get("required", False))


def _body(document: Document, operation: dict[str, Any]) -> Iterator[Named]:
    for kind, content in operation.get("requestBody", {}).get("content", {}).items():
        shape = _resolved(document, content["schema"])
        if "properties" not in shape:
            yield Named(kind, _words(document, shape))
        required = shape.get("required", ())
        for name, field in shape.get("properties", {}).items():
            about = _resolved(document, field).get("description", "")
            yield Named(name, _words(document, field), about, name in required)


def _of_content(document: Document, answer: dict[str, Any]) -> str:
    shapes = [content["schema"] for content in answer.get("content", {}).values()]
    return "; ".join(_words(document, shape) for shape in shapes)


def _resolved(document: Document, shape: dict[str, Any]) -> dict[str, Any]:
    """Return the shape that a reference of the document leads to."""
    while "$ref" in shape:
        found: Any = document
        for name in shape["$ref"].removeprefix("#/").split("/"):
            found = found[name]
        shape = found
    return shape


def _words(document: Document, shape: dict[str, Any], depth: int = 0) -> str:
    """Return what a value is: 'text', 'list of numbers', 'one of pass, fail'."""
    name = shape.get("$ref", "").rpartition("/")[2]
    shape = _resolved(document, shape)
    if "enum" in shape or "const" in shape:
        return "one of " + ", ".join(map(str, shape.get("enum") or [shape["const"]]))
    several = shape.get("anyOf") or shape.get("oneOf") or shape.get("allOf")
    if several and depth < _DEEPEST:
        return " or ".join(dict.fromkeys(_words(document, one, depth + 1) for one in several))
    kind = shape.get("type", "")
    if kind == "array" and depth < _DEEPEST:
        return f"list of {_words(document, shape.get('items', {}), depth + 1)}"
    return name or _KINDS.get(shape.get("format", ""), _KINDS.get(kind, kind or "anything"))


_KINDS = {
    "string": "text",
    "integer": "whole number",
    "number": "number",
    "boolean": "true or false",
    "object": "object",
    "array": "list",
    "null": "null",
    "binary": "bytes",
    "date": "day",
    "date-time": "moment",
}
