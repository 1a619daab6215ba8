"""What people send becomes an event, or a sentence for every field that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from django.utils.translation import gettext as _
from pydantic import ValidationError
from pydantic_core import ErrorDetails

from checklists.engine.quoting import quoted
from shop.jobs.events.base import Event
from shop.jobs.events.fields import WANTED
from shop.lib.refusals import BadInput, bad

AnyEvent = TypeVar("AnyEvent", bound=Event)


def build(event: type[AnyEvent], data: object) -> AnyEvent:
    """Return the event with these fields; BadInput names every field that is wrong.

    A field that is null counts as not sent.
    """
    if not isinstance(data, Mapping):
        raise bad(
            "data",
            _("data is {data}; it must be an object with the fields of {event_type}.").format(
                data=quoted(data), event_type=event.event_type
            ),
        )
    known = [name for name in event.model_fields if name not in event.filled_in]
    problems = _strangers(event, data, known)
    given = {name: data[name] for name in known if data.get(name) is not None}
    try:
        made = event.model_validate(given)
    except ValidationError as error:
        for details in error.errors(include_url=False):
            problems += _problems(event, details)
    if problems:
        raise BadInput(problems)
    return made


def _strangers(
    event: type[Event], data: Mapping[Any, Any], known: list[str]
) -> list[tuple[str, str]]:
    wanted = ", ".join(known) or "no field"
    return [
        (
            str(name),
            _("{name} is not a field of {event_type}; it has {wanted}.").format(
                name=quoted(name), event_type=event.event_type, wanted=wanted
            ),
        )
        for name in data
        if name not in known
    ]


def _problems(event: type[Event], details: ErrorDetails) -> list[tuple[str, str]]:
    """Return a sentence with its field, or those that the field found by itself."""
    own = details.get("ctx", {}).get("error")
    if isinstance(own, BadInput):
        return own.problems
    name = str(details["loc"][0])
    if details["type"] == "missing":
        return [
            (
                name,
                _("{name} is missing; {event_type} needs it.").format(
                    name=name, event_type=event.event_type
                ),
            )
        ]
    words = details["msg"] if details["type"] == WANTED else f"it cannot be taken: {details['msg']}"
    return [(name, f"{name} is {quoted(details['input'])}; {words}.")]
