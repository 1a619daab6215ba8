"""A unit that came back: its readings of then beside those of now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from shop.jobs import queries
from shop.jobs.comparison import amount, first_and_last, limit
from shop.jobs.decorators import job_page
from shop.jobs.events.stored import Data
from shop.jobs.models import Job


@dataclass(frozen=True)
class Beside:
    """The last reading of a quantity then and now; `change` in per cent where both are known."""

    quantity: str
    then: str
    now: str
    limit: str
    change: str


def beside(job: Job, earlier: Job) -> list[Beside]:
    """Return every quantity read on either job, in the order of the earlier one."""
    then, now = _last(earlier), _last(job)
    return [_line(name, then.get(name), now.get(name)) for name in dict.fromkeys([*then, *now])]


def _last(job: Job) -> dict[str, Data]:
    readings = first_and_last(queries.rows_of(job))
    return {reading.quantity: reading.last for reading in readings}


def _line(name: str, then: Data | None, now: Data | None) -> Beside:
    judged = now or then or {}
    return Beside(
        name,
        amount(then) if then else "",
        amount(now) if now else "",
        limit(judged.get("min"), judged.get("max")),
        _change(then, now),
    )


def _change(then: Data | None, now: Data | None) -> str:
    if not then or not now or then["unit"] != now["unit"] or not then["value"]:
        return ""
    return f"{100 * (now['value'] - then['value']) / abs(then['value']):+.0f} %"


@require_GET
@job_page("read")
def earlier(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Show both; a unit that is here for the first time has no such page."""
    before = job.returned_from
    if before is None:
        raise Http404(
            _("Job {number} did not come back from an earlier one.").format(number=job.number)
        )
    causes = [cause.suspect for cause in before.causes.all()]
    context = {"job": job, "before": before, "lines": beside(job, before), "causes": causes}
    return render(request, "pages/job/earlier.html", context)
