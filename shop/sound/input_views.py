"""Pages of sound cards: the inputs with their calibration, and test signals to take along."""

from __future__ import annotations

from typing import Any, BinaryIO, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.accounts.roles import needs, signed_in
from shop.bench.audio import signals
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web.errors import on_error
from shop.lib.web.forms import cleaned
from shop.sound import services
from shop.sound.forms import LEVELS, InputForm
from shop.sound.models import SoundInput

FILE_RATES = (44_100, 48_000)
FILE_LEVEL = -20
# No file to take along.
ONLY_RECORDS = "long-silence"


def _page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    found = list(SoundInput.objects.select_related("calibrated_by"))
    again = next((one for one in found if str(one.pk) == request.GET.get("again")), None)
    start = {"name": again.name, "setting": again.setting} if again else {}
    return render(
        request,
        "sound/sound.html",
        {
            "in_use": [one for one in found if not one.retired_at],
            "retired": [one for one in found if one.retired_at],
            "again": again,
            "form": InputForm(request.POST or None, request.FILES or None, initial=start),
            "kinds": {key: one for key, one in signals.KINDS.items() if key != ONLY_RECORDS},
            "rates": FILE_RATES,
            "level": FILE_LEVEL,
            "levels": LEVELS,
            "refused": str(error or ""),
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@needs(services.ABILITY)
@on_error(_page)
def sound(request: HttpRequest) -> HttpResponseBase:
    """The inputs; posted, one is written down or calibrated again (`?again=`)."""
    if request.method != "POST":
        return _page(request)
    given = cleaned(InputForm(request.POST, request.FILES))
    number = whole(request.GET.get("again", "")) or 0
    kept = get_object_or_404(SoundInput, pk=number) if number else None
    one = services.save(
        kept,
        name=given["name"],
        setting=given["setting"],
        full_scale_volts=_full_scale(given),
        tone_volts=given["tone_volts"],
        by=signed_in(request),
        at=timezone.now(),
    )
    messages.success(
        request, _("Kept: {one}, full scale {volts} r.m.s.").format(one=one, volts=one.volts)
    )
    return redirect("sound")


def _full_scale(given: dict[str, Any]) -> float:
    told: float | None = given["full_scale_volts"]
    if told:
        return told
    file = cast(BinaryIO, given["recording"].file)
    return services.full_scale_of(file, given["channel"], given["tone_volts"])


@require_POST
@needs(services.ABILITY)
def sound_retire(request: HttpRequest, number: int) -> HttpResponse:
    """Retire an input, or take it back into use."""
    one = get_object_or_404(SoundInput, pk=number)
    at = None if request.POST.get("act") == "back" else timezone.now()
    services.set_retired(one, at, by=signed_in(request))
    return redirect("sound")


def _sentence(request: HttpRequest, *, error: UserFacingError, **_: Any) -> HttpResponse:
    return HttpResponse(str(error), content_type="text/plain; charset=utf-8")


@require_safe
@needs("read")
@on_error(_sentence)
def sound_signal(request: HttpRequest, kind: str) -> HttpResponse:
    """A test signal as a WAV file: `level` in dB of full scale, `rate` in Hz, `side`."""
    asked = request.GET
    side = asked.get("side", "both")
    try:
        rate = int(asked.get("rate", FILE_RATES[1]))
        level = float(asked.get("level", FILE_LEVEL))
        made = signals.signal(kind, rate=rate, level_decibels=level)
        wave = signals.as_wav(signals.on_sides(made, side), rate)
    except ValueError as error:
        raise bad("signal", str(error)) from None
    answer = HttpResponse(wave, content_type="audio/wav")
    name = f"{kind}{level:+g}dB-{side}-{rate}.wav"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
