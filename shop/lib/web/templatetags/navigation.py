"""The menu, the tabs of a job, and the lines of the account page, out of what rooms registered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import template
from django.utils.safestring import SafeString

from shop.lib.web import kept, navigation
from shop.lib.web.navigation import Entry, Registry

register = template.Library()
register.simple_tag(navigation.address)


@register.simple_tag(takes_context=True)
def menu(context: dict[str, Any]) -> SafeString:
    """Show the menu at the top of a wide page, the rarer pages under More."""
    return _parted("_menu.html", context, lambda entry: not entry.more)


@register.simple_tag(takes_context=True)
def thumb_bar(context: dict[str, Any]) -> SafeString:
    """Show the bar under the thumb of a phone: pages with an icon, all others under More."""
    return _parted("_thumb_bar.html", context, lambda entry: bool(entry.icon))


def _parted(page: str, context: dict[str, Any], is_first: Callable[[Entry], bool]) -> SafeString:
    def parts(entries: list[Entry]) -> dict[str, Any]:
        first = [entry for entry in entries if is_first(entry)]
        return {"first": first, "more": [entry for entry in entries if entry not in first]}

    return _links(page, navigation.menu, context, {"here": _here(context)}, parts)


def _links(
    page: str,
    registry: Registry,
    context: dict[str, Any],
    values: dict[str, Any],
    parts: Callable[[list[Entry]], dict[str, Any]],
) -> SafeString:
    """Show the links that somebody may follow; an entry never changes, so its address tells it."""
    entries = registry.allowed(context.get("may") or {})
    names = tuple(entry.url_name for entry in entries)
    return kept.part(page, {**values, "names": names}, lambda: parts(entries))


def _here(context: dict[str, Any]) -> str:
    """Return the name of the address that is shown; empty on a page of an error."""
    match = getattr(context.get("request"), "resolver_match", None)
    return match.url_name if match else ""


@register.simple_tag(takes_context=True)
def job_tabs(context: dict[str, Any], number: int, here: str = "") -> SafeString:
    """Show the pages of one job; the one that is open is marked, `here` or as the address says.

    Those with an icon stand in the bar under the thumb on a phone, the others above the page.
    """
    values = {"number": number, "here": here or _here(context)}
    return _links("_job_tabs.html", navigation.job_tabs, context, values, _tabs)


def _tabs(entries: list[Entry]) -> dict[str, Any]:
    return {"tabs": entries, "five": [tab for tab in entries if tab.icon]}


@register.simple_tag(takes_context=True)
def job_more(context: dict[str, Any], number: int) -> SafeString:
    """Show the pages of one job that have no place in the bar under the thumb."""
    values = {"number": number}
    return _links("_job_more.html", navigation.job_tabs, context, values, _without_icon)


def _without_icon(entries: list[Entry]) -> dict[str, Any]:
    return {"more": [tab for tab in entries if not tab.icon]}


@register.inclusion_tag("_account_links.html", takes_context=True)
def account_links(context: dict[str, Any]) -> dict[str, Any]:
    """Show the lines that other rooms add to the account page."""
    return {"links": navigation.account_links.allowed(context.get("may") or {})}


@register.simple_tag(takes_context=True)
def part_links(context: dict[str, Any]) -> list[Entry]:
    """Return the pages that other rooms have of a part."""
    return navigation.part_links.allowed(context.get("may") or {})


@register.simple_tag(takes_context=True)
def menu_entry(context: dict[str, Any], url_name: str) -> Entry | None:
    """Return the line of the menu to that address: the way to a room above; None for the wrong role."""
    entries = navigation.menu.allowed(context.get("may") or {})
    return next((entry for entry in entries if entry.url_name == url_name), None)
