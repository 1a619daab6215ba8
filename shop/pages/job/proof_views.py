"""Tabs of a job that prove a cure: the trials, and the soak."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.timezone import localdate
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from shop.bench.units import spoken
from shop.instruments.queries import offers
from shop.jobs import charts, queries, soaking
from shop.jobs.decorators import job_page
from shop.jobs.events.soak_reading import SoakReading, SoakReadingForm
from shop.jobs.models import Job
from shop.lib.calculator_words import calculated
from shop.lib.refusals import UserFacingError
from shop.lib.web import htmx
from shop.meters import soak_logs
from shop.pages.job import refusing
from shop.pages.job.act_card import head
from shop.pages.job.trial_series import series
from shop.pages.job.writing import last_of


@require_GET
@job_page("read")
def trials(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Every trial, how often the fault shows, which condition matters, and what the clean ones prove."""
    return trials_page(request, job)


def trials_page(
    request: HttpRequest, job: Job, *, error: UserFacingError | None = None
) -> HttpResponse:
    """Show it; after a refusal with what was typed."""
    traveller = queries.Traveller.of(job)
    found = series(traveller, typed=request.POST if error else None)
    part = "pages/job/_trials.html"
    context = head(traveller) | {
        "series": found,
        "trials": found.trials,
        "chart": charts.trial_chart(found.trials),
        "refused": refusing.shown(error),
        "title": _("Trials"),
        "part": part,
    }
    return htmx.page(request, "pages/job/trials.html", part, context)


@require_GET
@job_page("read")
def soak(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The soak as it runs: plan, readings due, chart, verdict, and what logs it."""
    return soak_page(request, job, now)


def soak_page(request: HttpRequest, job: Job, now: datetime, *, refused: str = "") -> HttpResponse:
    """Show it; after a refusal with the sentence."""
    traveller = queries.Traveller.of(job)
    run = soaking.soak_of(traveller.record, traveller.checklist)
    due = run.next_due(now) if run else None
    context = {
        "job": job,
        "run": run,
        "plan": soaking.plan_for(traveller.checklist),
        "charts": charts.soak_charts(run, now) if run else [],
        "due": due,
        "late": bool(run and run.overdue(now)),
        "minutes": run.run_minutes(now) if run else 0,
        "form": SoakReadingForm(
            initial=last_of(traveller, SoakReading.event_type), auto_id="soak_reading-%s"
        ),
        "logs": _logs(job, now),
        "refused": refused,
    }
    return htmx.page(request, "pages/job/soak.html", "pages/job/_soak.html", context)


def _logs(job: Job, now: datetime) -> list[dict[str, Any]]:
    """Return what can log each quantity, and what does; nothing where no instrument is connected."""
    wanted = offers(soaking.MEASURES.values(), by=None, on=localdate(now))
    connected = {offer.measures: offer.for_worker for offer in wanted}
    chosen = {one.quantity: one for one in soak_logs.of(job)} if any(connected.values()) else {}
    return [
        {
            "quantity": quantity,
            "title": calculated(spoken(quantity)),
            "instruments": connected[measures],
            "chosen": chosen.get(quantity),
        }
        for quantity, measures in soaking.MEASURES.items()
        if connected.get(measures)
    ]
