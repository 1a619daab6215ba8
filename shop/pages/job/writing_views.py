"""Pages of a job to write on and to look things up: the list, entries, the unit, parts, causes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import retarget

from checklists.engine.vocabulary import VOCABULARY
from shop.accounts.roles import may, signed_in
from shop.instruments.queries import any_connected
from shop.jobs import commands, events, queries
from shop.jobs.decorators import job_page
from shop.jobs.events.forms import EventForm
from shop.jobs.events.round_finished import RoundFinished
from shop.jobs.events.trial_run import TrialRun
from shop.jobs.events.work_done import WorkDone
from shop.jobs.facts import from_text, shown_label, value_from_text
from shop.jobs.forms import FactsForm
from shop.jobs.models import Job
from shop.lib.refusals import Refused, UserFacingError, bad
from shop.lib.web import htmx
from shop.lib.web.confirming import Question, unless_sure
from shop.lib.web.forms import cleaned
from shop.pages.job import (
    last_moves,
    listing,
    look_up,
    part_views,
    proof_views,
    refusing,
    trial_series,
    unit_sheet,
    writing,
)
from shop.pages.job.act_card import head
from shop.pages.job.views import done, page
from shop.timers.queries import labour_minutes

# A sheet that was opened on the card, and one that comes back there with a refusal.
_THE_CARD = ("act", "traveller")
# The round that an entry may be the last of, and the words of that button.
_ROUNDS = {
    "finding_recorded": ("look", gettext_lazy("Record it, and that is all there is")),
    "work_done": ("work", gettext_lazy("Record it, and all work is done")),
}


_TITLES = {
    "list": gettext_lazy("List"),
    "look_up": gettext_lazy("Look up"),
    "write": gettext_lazy("Write"),
    "unit": gettext_lazy("Unit"),
    "parts": gettext_lazy("Parts"),
    "causes": gettext_lazy("Causes"),
}


def _shown(request: HttpRequest, name: str, context: dict[str, Any]) -> HttpResponse:
    part = f"pages/job/_{name}.html"
    shown = context | {"title": _TITLES[name], "part": part}
    return htmx.page(request, "pages/job/beside.html", part, shown)


@require_GET
@job_page("read")
def checklist(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The steps of one phase, what the next gate asks, and the moves that can follow."""
    traveller = queries.Traveller.of(job)
    listed = listing.checklist(traveller, request.GET.get("phase", ""))
    return _shown(request, "list", head(traveller) | listed)


@require_GET
@job_page("read")
def beside(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """What one looks up during an act, for the right of a wide page."""
    traveller = queries.Traveller.of(job)
    shown = look_up.summary(traveller, customer=may(request.user, "note"))
    return _shown(request, "look_up", head(traveller) | shown)


@require_GET
@job_page("read")
def write(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """A tile for each sort of entry, or the form of the one that was chosen."""
    return _writing(request, job, request.GET.get("what", ""))


def _writing(
    request: HttpRequest,
    job: Job,
    kind: str,
    *,
    typed: EventForm | None = None,
    error: UserFacingError | None = None,
) -> HttpResponse:
    traveller = queries.Traveller.of(job)
    again = request.GET.get("again") == "yes"
    minutes = None
    if kind == WorkDone.event_type:
        minutes = labour_minutes(job, signed_in(request), timezone.now())
    form = writing.form(
        traveller, kind, again=again, typed=typed, minutes=minutes, chosen=request.GET.dict()
    )
    context = head(traveller) | writing.tiles(traveller) | form | {"refused": refusing.shown(error)}
    context |= {"metered": not form and any_connected()}
    on_the_card = htmx.target(request) in _THE_CARD
    shown = _shown(
        request, "write", context | {"on_the_card": on_the_card, "round": _ROUNDS.get(kind)}
    )
    return retarget(shown, "#act") if on_the_card else shown


@require_GET
@job_page("read")
def unit(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """What is known of the unit, and what would be worth finding out."""
    return unit_page(request, job, now)


def unit_page(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError | None = None, **_: str
) -> HttpResponse:
    """Show the unit; after an error with what was typed."""
    traveller = queries.Traveller.of(job)
    context = head(traveller) | unit_sheet.unit(traveller, typed=request.POST if error else None)
    return _shown(request, "unit", context | {"refused": refusing.shown(error)})


@require_GET
@job_page("read")
def parts(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The parts that the job needs, and how far each has come."""
    return _parts(request, job)


def _parts(
    request: HttpRequest,
    job: Job,
    *,
    typed: EventForm | None = None,
    error: UserFacingError | None = None,
) -> HttpResponse:
    traveller = queries.Traveller.of(job)
    needed = part_views.parts(traveller, typed)
    return _shown(request, "parts", head(traveller) | needed | {"refused": refusing.shown(error)})


@require_GET
@job_page("read")
def causes(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """What it could be, the test that finds it soonest first."""
    traveller = queries.Traveller.of(job)
    return _shown(request, "causes", head(traveller) | {"search": unit_sheet.search(traveller)})


def _back_to_the_form(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    event_type: str = "",
) -> HttpResponse:
    """Show the page that an entry came from, with what was typed and why it was not taken."""
    form_class = events.find(event_type).form
    typed = form_class(request.POST) if form_class else None
    if event_type == TrialRun.event_type and request.POST.get("next") in ("act", "trials"):
        return _trial_again(request, job, now, error)
    if event_type.startswith("part_"):
        return _parts(request, job, typed=typed, error=error)
    if typed is not None and typed.title:
        return _writing(request, job, event_type, typed=typed, error=error)
    return page(request, job, now, error=error)


def _trial_again(
    request: HttpRequest, job: Job, now: datetime, error: UserFacingError | None
) -> HttpResponse:
    if request.POST["next"] == "trials":
        return proof_views.trials_page(request, job, error=error)
    return page(request, job, now, error=error)


@require_POST
@job_page("note", on_error=_back_to_the_form)
def record(request: HttpRequest, job: Job, now: datetime, event_type: str) -> HttpResponse:
    form_class = events.find(event_type).form
    form = form_class(request.POST) if form_class else None
    if form:
        cleaned(form)
    data = form.data_for_row() if form else {}
    if event_type == "part_lost" and (asked := unless_sure(request, _lost(job, data))):
        return asked
    commands.record(job.number, event_type, data, by=signed_in(request), at=now)
    said = _said(job, event_type, data) + _end_the_round(request, job, now, event_type)
    return done(request, job, now, said)


def _end_the_round(request: HttpRequest, job: Job, now: datetime, event_type: str) -> str:
    """Say that it was the last entry of its round, where the button said so and nothing forbids it."""
    name = _ROUNDS[event_type][0] if event_type in _ROUNDS else ""
    if not name or request.POST.get("and") != name:
        return ""
    try:
        commands.record(
            job.number, RoundFinished.event_type, {"round": name}, by=signed_in(request), at=now
        )
    except Refused:
        # What was done has brought something up; the card asks again once that is seen to.
        return ""
    return " " + _("That was all.")


def _said(job: Job, event_type: str, data: dict[str, Any]) -> str:
    if event_type == TrialRun.event_type:
        return trial_series.said(queries.record_of(job), data)
    return _("Recorded: {what}.").format(what=event_type.replace("_", " "))


def _lost(job: Job, data: dict[str, Any]) -> Question:
    need = next((n for n in queries.record_of(job).needs if n.sequence == data.get("need")), None)
    return last_moves.losing_a_part(job, need.spec if need else _("The part"), str(data.get("why")))


@require_POST
@job_page("record", on_error=unit_page)
def facts(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Record one fact by its `name` and `value`, or every field of the page that was filled in."""
    given = _one_fact(request) if "name" in request.POST else _all_facts(request)
    for name, value in given.items():
        data = {"name": name, "value": value}
        commands.record(job.number, "fact_recorded", data, by=signed_in(request), at=now)
    said = ", ".join(shown_label(VOCABULARY[name]) for name in given)
    return done(request, job, now, _("Recorded: {what}.").format(what=said))


def _one_fact(request: HttpRequest) -> dict[str, Any]:
    name = request.POST.get("name", "")
    typed = " ".join(request.POST.getlist("value"))
    if name in VOCABULARY and not typed.strip():
        raise bad(name, _("{name} is empty; choose or type a value.").format(name=name))
    return {name: value_from_text(name, typed)}


def _all_facts(request: HttpRequest) -> dict[str, Any]:
    form = FactsForm(request.POST)
    cleaned(form)
    given = from_text(form.given())
    if not given:
        raise bad("facts", _("No field is filled in; choose or type what you know."))
    return given
