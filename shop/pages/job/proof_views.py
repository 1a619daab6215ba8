"""Tabs of a job that prove a cure: the trials, and the soak."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from shop.jobs import charts, queries, soaking
from shop.jobs.decorators import job_page
from shop.jobs.events.soak_reading import SoakReading, SoakReadingForm
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError
from shop.lib.web import htmx
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
        "title": "Trials",
        "part": part,
    }
    return htmx.page(request, "pages/job/trials.html", part, context)


@require_GET
@job_page("read")
def soak(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The soak as it runs: plan, readings due, chart, verdict."""
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
    }
    return htmx.page(request, "pages/job/soak.html", "pages/job/_soak.html", context)
