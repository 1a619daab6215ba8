"""Pages of jobs: the list, a ledger, and what proves a cure: the trials, and the soak."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET
from django_tables2 import RequestConfig

from shop.accounts.roles import needs
from shop.jobs import charts, forms, ledger, queries, soaking
from shop.jobs.stages import OPEN, Power, Stage
from shop.jobs.tables import JobTable, LedgerTable
from shop.jobs.trials import trials_of
from shop.web import htmx

_FILTERS = {
    "stage": [stage.value for stage in Stage],
    "power": [power.value for power in Power],
    "waiting": ["hands", "owner", "parts", "soak-clock", "nobody"],
}


@require_GET
@needs("read")
def job_list(request: HttpRequest) -> HttpResponse:
    chosen = {n: request.GET[n] for n, ws in _FILTERS.items() if request.GET.get(n) in ws}
    found = queries.jobs(timezone.now()).filter(**chosen)
    if "stage" not in chosen and request.GET.get("closed") != "yes":
        found = found.filter(stage__in=OPEN)
    table = JobTable(found)
    RequestConfig(request, paginate={"per_page": 30}).configure(table)
    context = {"table": table, "filters": _FILTERS, "chosen": chosen}
    return htmx.page(request, "jobs/list.html", "jobs/_list.html", context)


@require_GET
@needs("read")
def job_ledger(request: HttpRequest, number: int) -> HttpResponse:
    job = queries.job(number, timezone.now())
    rows = queries.rows_of(job)
    table = LedgerTable(rows, order_by="-sequence")
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    context = {"job": job, "table": table, "faults": ledger.faults(rows, job.head)}
    return render(request, "jobs/ledger.html", context)


@require_GET
@needs("read")
def trials(request: HttpRequest, number: int) -> HttpResponse:
    """Every trial, how often the fault shows, which condition matters, and what the clean ones prove."""
    job = queries.job(number, timezone.now())
    found = trials_of(queries.record_of(job))
    context = {
        "job": job,
        "trials": found,
        "chart": charts.trial_chart(found),
        "form": forms.ROW_FORMS["trial_run"](auto_id="trial_run-%s"),
    }
    return render(request, "jobs/trials.html", context)


@require_GET
@needs("read")
def soak(request: HttpRequest, number: int) -> HttpResponse:
    """The soak as it runs: plan, readings due, chart, verdict."""
    now = timezone.now()
    job = queries.job(number, now)
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
        "form": forms.ROW_FORMS["soak_reading"](auto_id="soak_reading-%s"),
    }
    return htmx.page(request, "jobs/soak.html", "jobs/_soak.html", context)
