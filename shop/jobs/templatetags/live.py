"""The line of live units that every page carries."""

from __future__ import annotations

from typing import Any

from django import template

from shop.jobs.live_units import LiveUnits, live_units

register = template.Library()


@register.inclusion_tag("_live_units.html", takes_context=True)
def live_line(context: dict[str, Any], *, swapped: bool = False) -> dict[str, Any]:
    """Show each unit that has mains; `swapped` goes with the answer to a request of htmx."""
    may = context.get("may") or {}
    return {
        "units": _units(context) if may.get("read") else LiveUnits(),
        "may": may,
        "swapped": swapped,
        "csrf_token": context.get("csrf_token", ""),
    }


def _units(context: dict[str, Any]) -> LiveUnits:
    """Return those that the page has looked up already, a moment ago, or look now."""
    found = context.get("live")
    return found if isinstance(found, LiveUnits) else live_units()
