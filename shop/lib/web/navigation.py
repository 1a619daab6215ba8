"""What a room offers to the frame around the pages: menu lines, tabs of a job, account lines.

Each room registers its own when it loads (`AppConfig.ready`). So the frame, the job's page and
the pages of other rooms lead to a room above them without knowing it: no import and no address in
a template runs upward.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.urls import get_script_prefix, get_urlconf, reverse
from django.utils.functional import Promise


def always() -> bool:
    """For a page that every shop has."""
    return True


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One link: its words, the name of its address, its place, and the ability it takes.

    `more` puts it under More; one with an `icon` stands in the bar under the thumb on a phone. It
    is shown `when` the shop has set up what the page is about.
    """

    title: str | Promise
    url_name: str
    order: int
    ability: str = "read"
    more: bool = False
    icon: str = ""
    when: Callable[[], bool] = always


class Registry:
    """Entries in their order; registering the same address twice is a mistake."""

    def __init__(self) -> None:
        self._entries: dict[str, Entry] = {}
        self._in_order: list[Entry] = []

    def add(self, title: str | Promise, url_name: str, **how: Any) -> None:
        """Offer a link to the page of that address name; `how` as in Entry."""
        entry = Entry(title=title, url_name=url_name, **how)
        if self._entries.get(url_name, entry) != entry:
            raise ValueError(f"{url_name} is registered already, as {self._entries[url_name]}.")
        self._entries[url_name] = entry
        self._in_order = sorted(self._entries.values(), key=lambda entry: entry.order)

    def allowed(self, may: dict[str, bool]) -> list[Entry]:
        """Return the entries that somebody with these abilities sees, in order."""
        return [entry for entry in self._in_order if may.get(entry.ability) and entry.when()]


def address(name: str, *args: object) -> str:
    """Return what `reverse` does; worked out once, for a page has fifty of the same."""
    return _address(get_urlconf(), get_script_prefix(), name, args)


@lru_cache(maxsize=4096)
def _address(urlconf: str | None, prefix: str, name: str, args: tuple[object, ...]) -> str:
    return reverse(name, urlconf, args)


menu = Registry()
job_tabs = Registry()
account_links = Registry()
# Of one part; the address takes its number.
part_links = Registry()
