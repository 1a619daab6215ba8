"""Clocks are started and stopped from the page that they stand on."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, signed_in
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.lib import typed_numbers
from shop.lib.phrases import said
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web.ways_back import way_back
from shop.preferences import current as preferences
from shop.timers import services
from shop.timers.models import Timer
from shop.timers.queries import clocks_of, mark


def _back(request: HttpRequest, job: Job, error: UserFacingError | None = None) -> HttpResponse:
    if error is not None:
        messages.error(request, str(error))
    return redirect(way_back(request) or job.get_absolute_url())


@require_GET
@job_page("read")
def running(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """The clocks of a job, asked again and again while its page is open; nothing while all is as shown."""
    traveller = Traveller.of(job)
    if request.GET.get("mark", "") == mark(clocks_of(traveller, now)):
        return HttpResponse(status=204)
    return render(request, "timers/clocks.html", {"traveller": traveller})


@require_POST
@job_page("record")
def start(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Start a clock; what is refused is said on the page that it was asked on."""
    kind = request.POST.get("kind", "")
    try:
        minutes = None if kind == Timer.LABOUR else _minutes(request.POST.get("minutes", ""))
        services.start(job.number, kind, minutes, by=signed_in(request), at=now)
    except UserFacingError as error:
        return _back(request, job, error)
    return _back(request, job)


def _minutes(typed: str) -> float:
    try:
        return float(
            typed_numbers.exact(typed, unit="min", decimal=preferences.value("decimal_sign"))
        )
    except typed_numbers.TypedWrong as wrong:
        raise bad("minutes", _("minutes: {reason}").format(reason=said(wrong))) from None


@require_POST
@needs("record")
def stop(request: HttpRequest, key: int) -> HttpResponse:
    """Stop a clock."""
    timer = get_object_or_404(Timer.objects.select_related("job"), pk=key)
    try:
        services.stop(timer, by=signed_in(request), at=timezone.now())
    except UserFacingError as error:
        return _back(request, timer.job, error)
    return _back(request, timer.job)
