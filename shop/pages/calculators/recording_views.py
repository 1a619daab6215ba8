"""Readings of a job from a recording: upload, measure, write down."""

from __future__ import annotations

import hashlib
import math
from datetime import datetime
from typing import Any, BinaryIO, cast

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from checklists.engine.figures import grouped
from shop.accounts.roles import signed_in
from shop.bench import formatting
from shop.bench.audio.equalisation import CURVES
from shop.bench.audio.wav import read_wav
from shop.bench.units import unit_of
from shop.jobs import commands
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.charts import Scale, polyline
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web.forms import cleaned
from shop.lib.web.number_fields import TypedFloatField
from shop.pages.calculators.recording_measures import KEPT, MEASURES, WHAT


class RecordingForm(forms.Form):
    """A recording and how it was made."""

    recording = forms.FileField(
        label="Recording",
        widget=forms.FileInput(
            attrs={"accept": ".wav,.flac,.aif,.aiff,audio/wav,audio/flac,audio/aiff"}
        ),
    )
    what = forms.ChoiceField(label="It holds", choices=list(WHAT.items()))
    channel = forms.IntegerField(label="Channel", initial=1, min_value=1, max_value=8)
    reference_channel = forms.IntegerField(
        label="Channel with what went in (0: none; for a response)",
        initial=0,
        min_value=0,
        max_value=8,
    )
    bandwidth_hertz = TypedFloatField(
        label="Bandwidth (Hz)", initial=20_000, min_value=100, max_value=500_000
    )
    full_scale_volts = TypedFloatField(
        label="Volts r.m.s. that full scale stands for",
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )
    tone_volts = TypedFloatField(
        label="Or: volts of this very tone, as a meter read them",
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )
    mains_hertz = forms.ChoiceField(
        label="Mains", choices=((50, "50 Hz"), (60, "60 Hz")), initial=50
    )
    test_hertz = TypedFloatField(
        label="Test tone of tape or record (Hz)",
        initial=3150,
        required=False,
        min_value=500,
        max_value=12_000,
    )
    curve = forms.ChoiceField(
        label="Curve to hold it against (for a response)",
        choices=[("", "none"), *((curve, curve) for curve in CURVES)],
        required=False,
    )
    note = forms.CharField(label="Made how (load, power, volume)", required=False, max_length=500)
    keep = forms.BooleanField(
        label="Write the results into the job as readings", required=False, initial=True
    )


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    result: dict[str, Any] | None = None,
) -> HttpResponse:
    form = RecordingForm(request.POST or None, request.FILES or None)
    context = {"job": job, "form": form, "refused": str(error or "")}
    return render(request, "pages/calculators/recording.html", context | (result or {}))


@require_http_methods(["GET", "HEAD", "POST"])
@job_page("record", on_error=_page)
def recording(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Measure a recording; the file itself is not kept, its digest is."""
    if request.method != "POST":
        return _page(request, job, now)
    given = cleaned(RecordingForm(request.POST, request.FILES))
    figures, source = _measured(given), _source(given)
    if given["keep"]:
        _write(job.number, given, figures, source, by=signed_in(request), at=now)
        messages.success(request, f"Written into job {job.number}.")
    return _page(request, job, now, result=_shown(given, figures, source))


def _measured(given: dict[str, Any]) -> dict[str, Any]:
    """Return what the recording holds; BadInput when it cannot be read or measured."""
    try:
        sound = read_wav(cast(BinaryIO, given["recording"].file))
        return MEASURES[given["what"]](sound, given)
    except ValueError as error:
        raise bad("recording", str(error)) from None


def _source(given: dict[str, Any]) -> str:
    upload: UploadedFile = given["recording"]
    name, digest = (upload.name or "unnamed")[:80], _digest(upload)
    return f"recording {name}, sha256 {digest[:12]}, channel {given['channel']}"


def _shown(given: dict[str, Any], figures: dict[str, Any], source: str) -> dict[str, Any]:
    plain = {name: value for name, value in figures.items() if not isinstance(value, list | tuple)}
    return {
        "lines": formatting.lines(plain),
        "hints": figures.get("hints", ()),
        "source": source,
        "chart": _chart(figures) if given["what"] == "response" else None,
    }


def _digest(upload: UploadedFile) -> str:
    digest = hashlib.sha256()
    for chunk in upload.chunks():
        digest.update(chunk)
    return digest.hexdigest()


def _write(
    number: int,
    given: dict[str, Any],
    figures: dict[str, Any],
    source: str,
    *,
    by: User,
    at: datetime,
) -> None:
    """Write each kept figure as a reading of its own, all or none."""
    about = {"source": source, "note": _note(given, figures)}
    with transaction.atomic():
        for name in KEPT[given["what"]]:
            if figures.get(name) is not None:
                value = round(float(figures[name]), 6)
                reading = {"quantity": name, "value": value, "unit": unit_of(name)}
                commands.record(number, "reading_taken", reading | about, by=by, at=at)


def _note(given: dict[str, Any], figures: dict[str, Any]) -> str:
    sentences = [given["note"], *figures.get("hints", ())]
    if given["what"] in ("tone", "noise"):
        bandwidth = figures.get("bandwidth_hertz", given["bandwidth_hertz"])
        sentences.append(f"Bandwidth {grouped(round(bandwidth))} Hz.")
    return " ".join(sentence for sentence in sentences if sentence)


def _chart(figures: dict[str, Any]) -> dict[str, Any]:
    """Return the response ready to draw: logarithmic frequency, level in dB."""
    hertz, level = figures["hertz"], figures["decibels"]
    x = Scale(0, 3, 38, 410)
    y = Scale(min(-12.0, *level), max(6.0, *level), 166, 10)
    places = [x.at(_decades(f)) for f in hertz]
    return {
        "line": polyline(places, [y.at(db) for db in level]),
        "dots": [(place, y.at(db), f, db) for place, f, db in zip(places, hertz, level, strict=True)],
        "x_ticks": [(tick, x.at(_decades(f))) for f, tick in ((20, "20"), (100, "100"), (1000, "1 k"), (10_000, "10 k"), (20_000, "20 k"))],
        "y_ticks": y.ticks(5),
    }  # fmt: skip


def _decades(hertz: float) -> float:
    """Return decades above 20 Hz."""
    return math.log10(hertz / 20)
