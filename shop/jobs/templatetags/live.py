"""The line of live units that every page carries."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import SafeString

from shop.jobs.live_units import LiveUnits, live_units
from shop.lib.web import kept

register = template.Library()


@register.simple_tag(takes_context=True)
def live_line(context: dict[str, Any], *, swapped: bool = False) -> SafeString:
    """Show each unit that has mains; `swapped` goes with the answer to a request of htmx."""
    may = context.get("may") or {}
    if not may.get("read"):
        return SafeString("")
    units = _units(context)
    values = {
        "units": units.lines,
        "unread": units.unread,
        "notices": tuple(units.notices),
        "mark": units.mark,
        "may_isolate": bool(may.get("isolate")),
        "swapped": swapped,
    }
    return kept.part("_live_units.html", values, token=context.get("csrf_token", ""))


def _units(context: dict[str, Any]) -> LiveUnits:
    """Return those that the page has looked up already, a moment ago, or look now."""
    found = context.get("live")
    return found if isinstance(found, LiveUnits) else live_units()
