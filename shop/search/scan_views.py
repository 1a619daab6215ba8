"""A code from a scanner, a camera or the keyboard opens its job."""

from __future__ import annotations

import re

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import may, needs
from shop.customers.announced.models import Announcement
from shop.customers.announced.queries import travelling_as
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import quoted, whole
from shop.lib.web import uploads
from shop.lib.web.errors import on_error
from shop.photos import processing
from shop.preferences import current as preferences

LONGEST = 400
MOST = 20
# What our labels hold is the address of the job's page; some scanners leave out its start. A shop
# may have had another address when the label was printed.
_LABEL = re.compile(r"(?:^|/)jobs/(\d{1,18})/?$")
# Beside a socket of the bench.
_OUTLET = re.compile(r"(?:^|/)outlets/(\d{1,18})/?$")


def _page(
    request: HttpRequest,
    *,
    code: str = "",
    jobs: list[Job] | None = None,
    error: UserFacingError | None = None,
) -> HttpResponse:
    unknown = bool(code) and not jobs
    context = {"code": code, "jobs": jobs or [], "unknown": unknown, "refused": str(error or "")}
    return render(request, "search/scan.html", context, status=404 if unknown else 200)


@require_GET
@needs("read")
def scan(request: HttpRequest) -> HttpResponse:
    """Open the job of a label or number; the jobs of a serial number are listed, newest first."""
    return _opened(request, request.GET.get("code", "").strip())


def _opened(request: HttpRequest, code: str) -> HttpResponse:
    outlet = _OUTLET.search(code) if len(code) <= LONGEST else None
    if outlet:
        return redirect("outlet", int(outlet[1]))
    jobs = jobs_for(code) if code else []
    coming = None if jobs else _coming(request, code)
    if coming is not None:
        return redirect(coming)
    if len(jobs) != 1:
        return _page(request, code=code, jobs=jobs)
    if "://" in code and not code.startswith(preferences.value("address") + "/"):
        elsewhere = quoted(code.split("/jobs/")[0])
        messages.warning(
            request,
            _("The label was printed under {elsewhere}. Check that the unit is this one.").format(
                elsewhere=elsewhere
            ),
        )
    return redirect(jobs[0])


def _coming(request: HttpRequest, code: str) -> Announcement | None:
    """Return what was announced with this number of its parcel, for whoever receives."""
    if len(code) > LONGEST or "\0" in code or not may(request.user, "receive"):
        return None
    return travelling_as(code)


@require_POST
@needs("read")
@on_error(_page)
def scan_picture(request: HttpRequest) -> HttpResponse:
    """Read the code in a still picture: for browsers that cannot read one themselves."""
    for name in uploads.dropped(request):
        raise processing.too_large(name)
    sent = request.FILES.get("picture")
    if sent is None:
        raise bad("picture", _("No picture came; take one of the label, or type the number."))
    codes = processing.read_codes(sent.name or "The picture", sent.read())
    known = [code for code in codes if jobs_for(code.strip()) or _OUTLET.search(code.strip())]
    if not codes:
        raise bad(
            "picture",
            _(
                "No code was found in the picture. Fill it with the label, hold still, and take "
                "it again; or type the number."
            ),
        )
    return _opened(request, (known or codes)[0].strip())


def jobs_for(code: str) -> list[Job]:
    """Return the jobs a code may mean: the one of a label or job number, else all of a serial number.

    A code longer than LONGEST means none.
    """
    if len(code) > LONGEST or "\0" in code:
        return []
    jobs = Job.objects.select_related("unit")
    label = _LABEL.search(code)
    if label:
        return list(jobs.filter(number=int(label[1])))
    number = whole(code)
    by_number = [] if number is None else list(jobs.filter(number=number))
    by_serial = jobs.filter(unit__serial__iexact=code).order_by("-number")[:MOST]
    return by_number + [job for job in by_serial if job not in by_number]
