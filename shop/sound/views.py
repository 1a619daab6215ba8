"""Readings of a job from a recording: play and record, or upload; measure, write down."""

from __future__ import annotations

from datetime import datetime
from typing import Any, BinaryIO, cast

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import signed_in
from shop.bench import formatting
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError
from shop.lib.web.forms import cleaned
from shop.sound import curves, recordings
from shop.sound.forms import RecordingForm
from shop.sound.measures import HOLDS, curve_of
from shop.sound.models import SoundInput


def _inputs() -> list[SoundInput]:
    return list(SoundInput.objects.filter(retired_at=None))


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    result: dict[str, Any] | None = None,
) -> HttpResponse:
    inputs = _inputs()
    form = RecordingForm(request.POST or None, request.FILES or None, inputs=inputs)
    found = curves.of_unit(job)
    context = {
        "job": job,
        "form": form,
        "inputs": inputs,
        "holds": " ".join(f"{kind}:{','.join(what)}" for kind, what in HOLDS.items()),
        "refused": str(error or ""),
        **(result or {}),
    }
    if result and result.get("unwritten"):
        found.insert(0, curves.as_curve(result["unwritten"]))
    return render(request, "sound/recording.html", context | {"charts": curves.charts(found)})


@require_http_methods(["GET", "HEAD", "POST"])
@job_page("record", on_error=_page)
def recording(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Measure a recording; the file itself is not kept, its digest is."""
    if request.method != "POST":
        return _page(request, job, now)
    given = cleaned(RecordingForm(request.POST, request.FILES, inputs=_inputs()))
    upload: UploadedFile = given["recording"]
    file = cast(BinaryIO, upload.file)
    figures = recordings.measured(file, given)
    source = recordings.source_of(file, upload.name or "unnamed", given)
    if given["keep"]:
        recordings.write(job.number, given, figures, source, by=signed_in(request), at=now)
        messages.success(request, _("Written into job {number}.").format(number=job.number))
    return _page(request, job, now, result=_shown(given, figures, source))


def _shown(given: dict[str, Any], figures: dict[str, Any], source: str) -> dict[str, Any]:
    plain = {name: value for name, value in figures.items() if not isinstance(value, list | tuple)}
    return {
        "lines": formatting.lines(plain),
        "hints": figures.get("hints", ()),
        "source": source,
        "unwritten": None if given["keep"] else curve_of(given, figures),
    }
