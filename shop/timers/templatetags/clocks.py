"""The clocks on a page: those that run, and the form that starts one."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils import timezone

from shop.jobs.queries import Traveller
from shop.timers.models import Timer
from shop.timers.queries import clocks, in_order, soak_clock

register = template.Library()
USUAL_MINUTES = 10


@register.inclusion_tag("timers/_running.html", takes_context=True)
def running_clocks(context: dict[str, Any], traveller: Traveller | None = None) -> dict[str, Any]:
    """Show the clocks of a job with that of its soak, or those of every open job."""
    now = timezone.now()
    standing = clocks(now, traveller.job if traveller else None)
    soak = soak_clock(traveller.record, traveller.checklist, now) if traveller else None
    return {
        "clocks": in_order([*standing, soak]) if soak else standing,
        "of_one_job": traveller is not None,
        "may": context.get("may") or {},
        "user": context.get("user"),
        "csrf_token": context.get("csrf_token", ""),
    }


@register.inclusion_tag("timers/_start.html", takes_context=True)
def start_clock(context: dict[str, Any], number: int) -> dict[str, Any]:
    """Show the buttons that start a clock of a job."""
    return {
        "number": number,
        "kinds": [kind for kind in Timer.KINDS if kind[0] != Timer.LABOUR],
        "minutes": USUAL_MINUTES,
        "csrf_token": context.get("csrf_token", ""),
    }
