"""The clocks on a page: those that run, and the form that starts one."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils import timezone
from django.utils.safestring import SafeString

from shop.jobs.queries import Traveller
from shop.lib.web import kept
from shop.timers.models import Timer
from shop.timers.queries import clocks, clocks_of, mark

register = template.Library()
USUAL_MINUTES = 10


@register.inclusion_tag("timers/_running.html", takes_context=True)
def running_clocks(context: dict[str, Any], traveller: Traveller | None = None) -> dict[str, Any]:
    """Show the clocks of a job with that of its soak, or those of every open job."""
    now = timezone.now()
    standing = clocks_of(traveller, now) if traveller else clocks(now)
    return {
        "clocks": standing,
        "mark": mark(standing),
        "job": traveller.job if traveller else None,
        "of_one_job": traveller is not None,
        "may": context.get("may") or {},
        "user": context.get("user"),
        "csrf_token": context.get("csrf_token", ""),
    }


@register.simple_tag(takes_context=True)
def start_clock(
    context: dict[str, Any], number: int, wait_minutes: int | None = None
) -> SafeString:
    """Show the buttons that start a clock of a job; a card with a discharge offers its wait first."""
    kinds = [kind for kind in Timer.KINDS if kind[0] != Timer.LABOUR]
    if wait_minutes is not None:
        kinds.sort(key=lambda kind: kind[0] != Timer.DISCHARGE)
    values = {
        "job": number,
        "kinds": tuple(kinds),
        "minutes": wait_minutes or USUAL_MINUTES,
        "by_plan": wait_minutes is not None,
    }
    return kept.part("timers/_start.html", values, token=context.get("csrf_token", ""))
