"""The menu, the tabs of a job, and the lines of the account page, out of what rooms registered."""

from __future__ import annotations

from typing import Any

from django import template

from shop.lib.web import navigation

register = template.Library()


@register.inclusion_tag("_menu.html", takes_context=True)
def menu(context: dict[str, Any]) -> dict[str, Any]:
    """Show the menu, the rarer pages under More."""
    entries = navigation.menu.allowed(context.get("may") or {})
    return {
        "first": [entry for entry in entries if not entry.more],
        "more": [entry for entry in entries if entry.more],
    }


@register.inclusion_tag("_job_tabs.html", takes_context=True)
def job_tabs(context: dict[str, Any], number: int, here: str = "") -> dict[str, Any]:
    """Show the pages of one job; the one that is open is marked, `here` or as the address says."""
    match = getattr(context.get("request"), "resolver_match", None)
    return {
        "tabs": navigation.job_tabs.allowed(context.get("may") or {}),
        "number": number,
        "here": here or (match.url_name if match else ""),
    }


@register.inclusion_tag("_account_links.html", takes_context=True)
def account_links(context: dict[str, Any]) -> dict[str, Any]:
    """Show the lines that other rooms add to the account page."""
    return {"links": navigation.account_links.allowed(context.get("may") or {})}
