"""Readings of a job from a recording: upload, measure, write down."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable
from dataclasses import asdict
from typing import Any, BinaryIO, cast

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.bench import formatting
from shop.bench.audio import noise, response, tone
from shop.bench.audio.wav import Recording, read_wav
from shop.bench.units import unit_of
from shop.jobs import commands, queries
from shop.lib.charts import Scale, polyline
from shop.lib.refusals import BadInput, Refused

WHAT = {
    "tone": "a tone: level, distortion, signal to noise",
    "noise": "silence: noise and hum",
    "separation": "a tone on one of two channels: separation",
    "response": "a sweep or multitone: frequency response",
}
# What becomes a reading; the rest is shown and goes with the note.
KEPT = {
    "tone": (
        "level_volts", "level_decibels", "thd_f_percent", "thd_r_percent", "thd_n_percent",
        "snr_decibels", "snr_a_decibels",
    ),
    "noise": ("noise_volts", "noise_decibels", "noise_a_decibels", "fundamental_decibels", "ripple_decibels"),
    "separation": ("separation_decibels",),
    "response": ("lowest_hertz", "highest_hertz", "ripple_decibels"),
}  # fmt: skip


class RecordingForm(forms.Form):
    """A recording and how it was made."""

    recording = forms.FileField(
        label="WAV file", widget=forms.FileInput(attrs={"accept": ".wav,audio/wav"})
    )
    what = forms.ChoiceField(label="It holds", choices=list(WHAT.items()))
    channel = forms.IntegerField(label="Channel", initial=1, min_value=1, max_value=8)
    reference_channel = forms.IntegerField(
        label="Channel with what went in (0: none; for a response)",
        initial=0,
        min_value=0,
        max_value=8,
    )
    bandwidth_hertz = forms.FloatField(
        label="Bandwidth (Hz)", initial=20_000, min_value=100, max_value=500_000
    )
    full_scale_volts = forms.FloatField(
        label="Volts r.m.s. that full scale stands for",
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )
    tone_volts = forms.FloatField(
        label="Or: volts of this very tone, as a meter read them",
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )
    mains_hertz = forms.ChoiceField(
        label="Mains", choices=((50, "50 Hz"), (60, "60 Hz")), initial=50
    )
    note = forms.CharField(label="Made how (load, power, volume)", required=False, max_length=500)
    keep = forms.BooleanField(
        label="Write the results into the job as readings", required=False, initial=True
    )


@require_http_methods(["GET", "HEAD", "POST"])
@needs("record")
def recording(request: HttpRequest, number: int) -> HttpResponse:
    """Measure a recording; the file itself is not kept, its digest is."""
    job = queries.job(number, timezone.now())
    form = RecordingForm(request.POST or None, request.FILES or None)
    context: dict[str, Any] = {"job": job, "form": form}
    if request.method != "POST":
        return render(request, "pages/calculators/recording.html", context)
    if not form.is_valid():
        said = " ".join(f"{form[n].label}: {' '.join(map(str, e))}" for n, e in form.errors.items())
        return render(
            request, "pages/calculators/recording.html", context | {"refused": said}, status=422
        )
    try:
        context |= _measured(request, number, form)
    except (ValueError, BadInput, Refused) as error:
        said = error.sentence if isinstance(error, Refused) else str(error)
        status = 409 if isinstance(error, Refused) else 422
        return render(
            request, "pages/calculators/recording.html", context | {"refused": said}, status=status
        )
    return render(request, "pages/calculators/recording.html", context)


def _measured(request: HttpRequest, number: int, form: RecordingForm) -> dict[str, Any]:
    given = form.cleaned_data
    upload: UploadedFile = given["recording"]
    sound = read_wav(cast(BinaryIO, upload.file))
    found = _MEASURES[given["what"]](sound, given)
    digest = _digest(upload)
    source = f"recording {(upload.name or 'unnamed')[:80]}, sha256 {digest[:12]}, channel {given['channel']}"
    if given["keep"]:
        _write(request, number, given, found, source)
        messages.success(request, f"Written into job {number}.")
    plain = {name: one for name, one in found.items() if not isinstance(one, list | tuple)}
    return {
        "lines": formatting.lines(plain),
        "hints": found.get("hints", ()),
        "source": source,
        "chart": _chart(found) if given["what"] == "response" else None,
    }


def _digest(upload: UploadedFile) -> str:
    made = hashlib.sha256()
    for chunk in upload.chunks():
        made.update(chunk)
    return made.hexdigest()


def _tone(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    samples, band = sound.channel(given["channel"]), given["bandwidth_hertz"]
    found = tone.tone_of(
        samples, sound.rate, bandwidth_hertz=band, full_scale_volts=given["full_scale_volts"]
    )
    if given["tone_volts"] and not given["full_scale_volts"]:
        scale = response.full_scale(given["tone_volts"], min(0.0, found.level_decibels))
        found = tone.tone_of(
            samples, sound.rate, bandwidth_hertz=band, full_scale_volts=scale.full_scale_volts
        )
        return asdict(found) | {"full_scale_volts": scale.full_scale_volts}
    return asdict(found)


def _noise(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    samples = sound.channel(given["channel"])
    mains = float(given["mains_hertz"])
    found = noise.noise_of(
        samples,
        sound.rate,
        bandwidth_hertz=given["bandwidth_hertz"],
        full_scale_volts=given["full_scale_volts"],
        mains_hertz=mains,
    )
    return asdict(found)


def _separation(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    return asdict(response.separation_of(sound))


def _response(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    return asdict(response.response_of(sound, given["channel"], given["reference_channel"]))


_MEASURES: dict[str, Callable[[Recording, dict[str, Any]], dict[str, Any]]] = {
    "tone": _tone,
    "noise": _noise,
    "separation": _separation,
    "response": _response,
}


def _write(
    request: HttpRequest, number: int, given: dict[str, Any], found: dict[str, Any], source: str
) -> None:
    """Write each kept figure as a reading of its own, all or none."""
    about = [given["note"], *found.get("hints", ())]
    if given["what"] in ("tone", "noise"):
        about.append(f"Bandwidth {found.get('bandwidth_hertz', given['bandwidth_hertz']):,.0f} Hz.")
    with transaction.atomic():
        for name in KEPT[given["what"]]:
            if found.get(name) is None:
                continue
            data = {
                "quantity": name,
                "value": round(float(found[name]), 6),
                "unit": unit_of(name),
                "source": source,
                "note": " ".join(part for part in about if part),
            }
            commands.record(number, "reading_taken", data, by=signed_in(request), at=timezone.now())


def _chart(found: dict[str, Any]) -> dict[str, Any]:
    """Return the response ready to draw: logarithmic frequency, level in dB."""
    hertz, level = found["hertz"], found["decibels"]
    x = Scale(0, 3, 38, 410)
    y = Scale(min(-12.0, *level), max(6.0, *level), 166, 10)
    places = [x.at(_decades(one)) for one in hertz]
    return {
        "line": polyline(places, [y.at(one) for one in level]),
        "dots": [(place, y.at(db), f, db) for place, f, db in zip(places, hertz, level, strict=True)],
        "x_ticks": [(said, x.at(_decades(f))) for f, said in ((20, "20"), (100, "100"), (1000, "1 k"), (10_000, "10 k"), (20_000, "20 k"))],
        "y_ticks": y.ticks(5),
    }  # fmt: skip


def _decades(hertz: float) -> float:
    """Return decades above 20 Hz."""
    return math.log10(hertz / 20)
