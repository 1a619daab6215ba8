"""Taking over what an earlier job knew of the unit."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from shop.accounts.roles import signed_in
from shop.jobs import commands
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.pages.job.views import done
from shop.pages.job.writing_views import unit_page


@require_POST
@job_page("record", on_error=unit_page)
def take_over(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Record what was built so, or what was looked at and is still so."""
    rows = commands.take_over_facts(
        job.number,
        as_built=request.POST.get("as_built") == "yes",
        looked_at=request.POST.getlist("looked_at"),
        by=signed_in(request),
        at=now,
    )
    said = ngettext("{number} fact taken over.", "{number} facts taken over.", len(rows))
    return done(request, job, now, said.format(number=len(rows)))
