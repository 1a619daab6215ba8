"""The menu, the tabs of a job, and the lines of the account page, out of what rooms registered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import template

from shop.lib.web import navigation
from shop.lib.web.navigation import Entry

register = template.Library()
register.simple_tag(navigation.address)


@register.inclusion_tag("_menu.html", takes_context=True)
def menu(context: dict[str, Any]) -> dict[str, Any]:
    """Show the menu at the top of a wide page, the rarer pages under More."""
    return _parted(context, lambda entry: not entry.more)


@register.inclusion_tag("_thumb_bar.html", takes_context=True)
def thumb_bar(context: dict[str, Any]) -> dict[str, Any]:
    """Show the bar under the thumb of a phone: pages with an icon, all others under More."""
    return _parted(context, lambda entry: bool(entry.icon))


def _parted(context: dict[str, Any], is_first: Callable[[Entry], bool]) -> dict[str, Any]:
    entries = navigation.menu.allowed(context.get("may") or {})
    return {
        "first": [entry for entry in entries if is_first(entry)],
        "more": [entry for entry in entries if not is_first(entry)],
        "here": _here(context),
    }


def _here(context: dict[str, Any]) -> str:
    """Return the name of the address that is shown; empty on a page of an error."""
    match = getattr(context.get("request"), "resolver_match", None)
    return match.url_name if match else ""


@register.inclusion_tag("_job_tabs.html", takes_context=True)
def job_tabs(context: dict[str, Any], number: int, here: str = "") -> dict[str, Any]:
    """Show the pages of one job; the one that is open is marked, `here` or as the address says.

    Those with an icon stand in the bar under the thumb on a phone, the others above the page.
    """
    tabs = navigation.job_tabs.allowed(context.get("may") or {})
    return {
        "tabs": tabs,
        "five": [tab for tab in tabs if tab.icon],
        "number": number,
        "here": here or _here(context),
    }


@register.inclusion_tag("_job_more.html", takes_context=True)
def job_more(context: dict[str, Any], number: int) -> dict[str, Any]:
    """Show the pages of one job that have no place in the bar under the thumb."""
    tabs = navigation.job_tabs.allowed(context.get("may") or {})
    return {"more": [tab for tab in tabs if not tab.icon], "number": number}


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
