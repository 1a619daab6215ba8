"""A code from a scanner, a camera or the keyboard opens its job."""

from __future__ import annotations

import re

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.jobs.models import Job
from shop.lib.text import whole
from shop.preferences import current as preferences

LONGEST = 400
MOST = 20
# What our labels hold is the address of the job's page; some scanners leave out its start.
_LABEL = re.compile(r"(?:^|/)jobs/(\d{1,18})/?$")


@require_GET
@needs("read")
def scan(request: HttpRequest) -> HttpResponse:
    """Open the job of a label or number; the jobs of a serial number are listed, newest first."""
    code = request.GET.get("code", "").strip()
    jobs = jobs_for(code) if code else []
    if len(jobs) == 1:
        return redirect(jobs[0])
    context = {"code": code, "jobs": jobs, "unknown": bool(code) and not jobs}
    return render(request, "search/scan.html", context, status=404 if context["unknown"] else 200)


def jobs_for(code: str) -> list[Job]:
    """Return the jobs a code may mean: the one of a label or job number, else all of a serial number.

    A code longer than LONGEST, or the address of another place, means none.
    """
    if len(code) > LONGEST or "\0" in code:
        return []
    jobs = Job.objects.select_related("unit")
    label = _LABEL.search(code)
    if label and ("://" not in code or code.startswith(preferences.value("address") + "/")):
        return list(jobs.filter(number=int(label[1])))
    number = whole(code)
    by_number = [] if number is None else list(jobs.filter(number=number))
    by_serial = jobs.filter(unit__serial__iexact=code).order_by("-number")[:MOST]
    return by_number + [job for job in by_serial if job not in by_number]
