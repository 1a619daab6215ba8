"""A move and the one that it is made for, by one tap: the stage is only where the unit stands."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest
from django.utils.translation import gettext as _

from shop.accounts.roles import signed_in
from shop.jobs import commands, queries
from shop.jobs.events.soak_started import SoakStarted
from shop.jobs.models import Job
from shop.jobs.names import cover_name, power_name, stage_name
from shop.jobs.next_act import Act


def name_of(act: Act) -> str:
    """Return the name under which a button announces a move; empty for what is no move."""
    if act.changes_state:
        return f"{act.act} {act.to}"
    starts = act.act == "record" and act.more.get("kind") == SoakStarted.event_type
    return SoakStarted.event_type if starts else ""


def go_on(request: HttpRequest, job: Job, now: datetime) -> str:
    """Make the move that the button announced too, and say so; nothing unless it is the next act.

    So what has come between is done first, and nothing is made that the card would not offer.
    """
    act = queries.Traveller.of(queries.job(job.number, now)).next_act(now)
    if not name_of(act) or request.POST.get("then") != name_of(act):
        return ""
    by = signed_in(request)
    if act.act == "power":
        moved = commands.set_power(job.number, act.to, by=by, at=now)
        return " " + _("Mains is on, {power}.").format(power=power_name(moved.power))
    if act.act == "cover":
        moved = commands.set_cover(job.number, act.to, by=by, at=now)
        return " " + _("The cover is {cover}.").format(cover=cover_name(moved.cover))
    if act.act == "stage":
        commands.set_stage(job.number, act.to, by=by, at=now)
        return " " + _("The job is {stage}.").format(stage=stage_name(act.to))
    commands.record(job.number, SoakStarted.event_type, {}, by=by, at=now)
    return " " + _("The soak runs.")
