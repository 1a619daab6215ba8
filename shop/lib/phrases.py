"""Numbers and times in words: one way to say each, on pages, in messages and in the API."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Protocol

from django.utils.timesince import timesince
from django.utils.translation import gettext as _

from checklists.engine.figures import grouped

# Below this a single unit says enough; above it "1 week" could mean thirteen days.
_EXACT_FROM = timedelta(days=7)


def counted(number: int | Collection[object], one: str, many: str = "") -> str:
    """Return '1 part', '2 parts'; `many` for what is not formed by an s: 'job waits', 'jobs wait'.

    English, for programs, the record and the command line; pages have ngettext.
    """
    count = number if isinstance(number, int) else len(number)
    return f"{grouped(count)} {one if count == 1 else many or one + 's'}"


def span(since: datetime, now: datetime) -> str:
    """Return how long it is since a moment (both aware): '5 minutes', '3 days', '2 weeks, 1 day'."""
    if now - since < timedelta(minutes=1):
        return _("less than a minute")
    depth = 2 if now - since >= _EXACT_FROM else 1
    # Django joins number and unit by a space that does not break; mail and JSON want a plain one.
    return timesince(since, now, depth=depth).replace("\xa0", " ")


class Worded(Protocol):
    """An error of plain Python that keeps its words and what stands in them apart."""

    words: str
    values: dict[str, object]


def said(error: Worded) -> str:
    """Return what an error of plain Python says, in the language of the page."""
    return _(error.words).format(**error.values)
