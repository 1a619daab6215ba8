"""Pages on which an owner writes house rules, looks at what they would change, and publishes them."""

from __future__ import annotations

import re
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from checklists import house, published
from checklists.engine import typical
from checklists.engine.cel import Bound, ConditionError, Outcome, condition
from checklists.engine.pack import PackError
from shop.accounts.roles import needs, signed_in
from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import OPEN
from shop.pages.rules import pack_changes, publishing
from shop.pages.rules.forms import HouseRuleForm

MOST_JOBS = 200  # looked at on a page; `rules diff` looks at all


@require_GET
@needs("read")
def overview(request: HttpRequest) -> HttpResponse:
    """What is in force, what the draft holds, and what publishing it would change."""
    started = house.draft()
    follow, all_open = queries.following(published.current().digest)
    context: dict[str, Any] = {"in_force": house.in_force(), "draft": started, "most": MOST_JOBS}
    context |= {"follow": follow, "all_open": all_open}
    if started is not None:
        context |= {"content": house.draft_or_in_force()} | _consequences(house.draft_or_in_force())
    return render(request, "pages/rules/house.html", context)


def _consequences(content: house.Content) -> dict[str, Any]:
    try:
        after = published.with_house_rules(content)
    except PackError as error:
        return {"problems": error.problems}
    changed = list(pack_changes.for_open_jobs(published.current(), after, MOST_JOBS))
    return {"changes": changed, "long_gates": typical.long_gates(after, settings.PACK_FOLDER)}


@require_http_methods(["GET", "HEAD", "POST"])
@needs("rules")
def write(request: HttpRequest) -> HttpResponse:
    """Write a rule: look at what it touches, or keep it in the draft."""
    form = HouseRuleForm(request.POST or None, pack=published.current())
    context: dict[str, Any] = {"form": form}
    if request.method != "POST":
        return render(request, "pages/rules/write.html", context)
    if form.is_valid():
        try:
            if request.POST.get("act") == "keep":
                return _keep(request, form)
            after = published.with_house_rules(
                house.with_tables(house.draft_or_in_force(), **form.tables())
            )
        except PackError as error:
            context["problems"] = error.problems
        except house.DraftTaken as error:
            context["problems"] = [str(error)]
        else:
            context |= _touched(form.cleaned_data["when"]) | {
                "long_gates": typical.long_gates(after, settings.PACK_FOLDER)
            }
            return render(request, "pages/rules/write.html", context)
    return render(request, "pages/rules/write.html", context, status=422)


def _keep(request: HttpRequest, form: HouseRuleForm) -> HttpResponse:
    house.revise(
        lambda content: house.with_tables(content, **form.tables()),
        by=signed_in(request).get_username(),
        at=timezone.now(),
    )
    messages.success(
        request, _("Rule {name} is in the draft.").format(name=form.cleaned_data["id"])
    )
    return redirect("house")


@require_POST
@needs("rules")
def check(request: HttpRequest) -> HttpResponse:
    """Say while it is typed whether a condition compiles, and if not, where it goes wrong."""
    source = request.POST.get("when", "").strip()
    context: dict[str, Any] = {"source": source}
    if source:
        try:
            context["names"] = sorted(condition(source).names)
        except ConditionError as error:
            context |= {"error": str(error), "caret": _caret(str(error))}
    return render(request, "pages/rules/_check.html", context)


def _caret(message: str) -> str:
    """Return a line with a mark under the place that the message names, or nothing."""
    place = re.search(r":(\d+):(\d+):", message)
    return " " * (int(place[2]) - 1) + "^" if place and place[1] == "1" else ""


def _touched(source: str) -> dict[str, Any]:
    """Return the condition, and which open jobs and typical units it hits or cannot decide."""
    test = condition(source)
    units = typical.units(settings.PACK_FOLDER).items()
    jobs = Job.objects.filter(stage__in=OPEN).select_related("unit").order_by("number")[:MOST_JOBS]
    outcomes = [
        (_("Typical: {name}").format(name=name), test.outcome(Bound(facts)))
        for name, facts in units
    ]
    outcomes += [(str(job), test.outcome(Bound(queries.record_of(job).facts))) for job in jobs]
    return {
        "cel": source,
        "hits": [name for name, outcome in outcomes if outcome is Outcome.HIT],
        "unsure": [name for name, outcome in outcomes if outcome is Outcome.UNDETERMINED],
        "misses": sum(1 for name, outcome in outcomes if outcome is Outcome.MISS),
    }


@require_POST
@needs("rules")
def drop(request: HttpRequest) -> HttpResponse:
    """Take a house rule out of the draft."""
    name = request.POST.get("rule", "")
    try:
        house.revise(
            lambda content: house.without_rule(content, name),
            by=signed_in(request).get_username(),
            at=timezone.now(),
        )
    except (house.DraftTaken, PackError) as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("Rule {name} is out of the draft.").format(name=name))
    return redirect("house")


@require_POST
@needs("rules")
def publish(request: HttpRequest) -> HttpResponse:
    """Put the draft in force; open jobs follow within a minute, those with mains at once."""
    try:
        done = publishing.publish(by=signed_in(request).get_username(), at=timezone.now())
    except (house.NothingToPublish, PackError) as error:
        messages.error(request, str(error))
        return redirect("house")
    in_force = _("{edition} are in force; open jobs follow.")
    messages.success(request, in_force.format(edition=done.edition))
    for number in done.fell:
        fell = _("Job {number}: its permit fell. Pull the plug.")
        messages.warning(request, fell.format(number=number))
    for number in done.failed:
        failed = _(
            "Job {number} has mains and could not be tried under these rules. Pull the plug."
        )
        messages.error(request, failed.format(number=number))
    return redirect("house")
