"""A reading that an instrument is asked for: it comes into its field, and a person signs it.

The page asks again every second until the worker has answered; without scripts by a button.
Nothing that is typed gets lost on the way.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.translation import gettext, gettext_lazy
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import reswap, retarget

from checklists.engine.listed import ListedReading
from shop.accounts.roles import signed_in
from shop.instruments.models import Request
from shop.jobs import queries
from shop.jobs.decorators import job_page
from shop.jobs.forms import INSTRUMENT, READING
from shop.jobs.models import Job
from shop.lib import typed_numbers
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web import htmx
from shop.meters import claims, services
from shop.pages.job import shared_card
from shop.pages.job.act_card import one_step
from shop.pages.job.views import page
from shop.preferences import current as preferences

_MOST_ANSWERS = 500
_GONE = gettext_lazy("There is no such reading for this field; read the meter again.")


@dataclass(frozen=True)
class Asked:
    """The field that a reading is asked for, what came of it, and which step its card begins with."""

    key: str
    quantity: str
    prefix: str
    card: str = ""
    request: Request | None = None
    said: str = ""

    @property
    def name(self) -> str:
        """The name of the field on the page."""
        return f"{self.prefix}{READING}{self.quantity}"


def _asked(request: HttpRequest, key: str, quantity: str) -> Asked:
    given = request.POST or request.GET
    card = given.get("step", key)
    return Asked(key, quantity, "" if card == key else shared_card.before(key), card)


def _named(request: HttpRequest) -> tuple[str, str, int]:
    """Return what a button asks for: the act, the quantity, and the instrument or the request."""
    for act in ("read", "look", "release"):
        quantity, _, number = request.POST.get(act, "").rpartition(":")
        if quantity and (key := whole(number)) is not None:
            return act, quantity, key
    raise bad("read", gettext("read is missing; press the button beside a reading."))


def _refused(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    key: str = "",
) -> HttpResponse:
    """Say why nothing is read, beside the field where it has one."""
    try:
        _, quantity, _ = _named(request)
        asked = _asked(request, key, quantity)
        if htmx.wants_fragment(request):
            return _field(request, job, now, asked, said=str(error or ""))
    except (UserFacingError, Http404):
        asked = _asked(request, key, "")
    return page(request, job, now, error=error, key=asked.card)


@require_POST
@job_page("sign", on_error=_refused)
def read_meter(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    """Ask an instrument for a reading, look whether it is there, or let the instrument go."""
    act, quantity, number = _named(request)
    asked, by = _asked(request, key, quantity), signed_in(request)
    found, said = None, ""
    if act == "read":
        found = services.ask_for_step(job.number, key, quantity, number, by=by, at=now)
    elif act == "look":
        found = services.asked_for(job.number, key, quantity, number, now)
        said = "" if found else str(_GONE)
    else:
        claims.release(number, job)
        said = gettext("It is free for another job.")
    if htmx.wants_fragment(request):
        return _field(request, job, now, asked, found, said=said)
    shown = Asked(asked.key, quantity, asked.prefix, asked.card, found, said)
    typed = _filled(request.POST, shown, job, now, request)
    return page(request, job, now, key=asked.card, typed=typed, meter=_context(shown))


def _context(asked: Asked) -> dict[str, Any]:
    return {"asked": asked}


@require_POST
@job_page("sign", on_error=_refused)
def meter_here(request: HttpRequest, job: Job, now: datetime, key: str) -> HttpResponse:
    """What the browser has from an instrument on its own serial line: 204 while it goes on."""
    _, quantity, number = _named(request)
    given = _answers(request.POST.get("answers", ""))
    found = services.take_for_step(
        job.number, key, quantity, number, given, by=signed_in(request), at=now
    )
    if found is None:
        return HttpResponse(status=204)
    return _field(request, job, now, _asked(request, key, quantity), found)


def _answers(sent: str) -> list[tuple[float, str]]:
    """Return answers with their times; BadInput for what is no list of them in order."""
    try:
        listed = json.loads(sent)
        found = [(float(at), str(text)[:200]) for at, text in listed]
        if not isinstance(listed, list):
            raise TypeError
    except (ValueError, TypeError):
        raise bad(
            "answers", gettext("answers is no list of times and texts; read the meter again.")
        ) from None
    times = [at for at, _ in found]
    if len(found) > _MOST_ANSWERS or times != sorted(times) or not all(map(math.isfinite, times)):
        raise bad(
            "answers", gettext("answers are too many, or out of order; read the meter again.")
        )
    return found


@require_GET
@job_page("sign")
def meter_asked(
    request: HttpRequest, job: Job, now: datetime, key: str, quantity: str, asked: int
) -> HttpResponse:
    """Whether the reading is there: the line beside the field, or the field with its value."""
    found = services.asked_for(job.number, key, quantity, asked, now)
    said = "" if found else str(_GONE)
    return _field(request, job, now, _asked(request, key, quantity), found, said=said)


def _field(
    request: HttpRequest,
    job: Job,
    now: datetime,
    asked: Asked,
    found: Request | None = None,
    *,
    said: str = "",
) -> HttpResponse:
    """Show one field with its buttons; while it waits, the line beside it alone is shown anew."""
    shown = Asked(asked.key, asked.quantity, asked.prefix, asked.card, found, said)
    given = request.POST or request.GET
    typed = _filled(given, shown, job, now, request)
    mine = typed if not asked.prefix else shared_card.own(typed, asked.key)
    traveller = queries.Traveller.of(job)
    if asked.key not in traveller.checklist.by_key:
        raise Http404(
            gettext("Job {number} has no step {key!r} on its list.").format(
                number=job.number, key=asked.key
            )
        )
    view = one_step(traveller, asked.key, mine, now, by=signed_in(request))
    inputs = [one for one in view.inputs if one[0].quantity == asked.quantity]
    context = {
        "job": job,
        "view": view,
        "field": inputs[0] if inputs else None,
        "prefix": asked.prefix,
        "meter": _context(shown),
        "offers": [o for o in view.instruments if inputs and o.measures == inputs[0][0].measures],
    }
    if found is not None and found.open and request.method == "GET":
        return render(request, "pages/job/_meter.html", context | _for_line(inputs))
    answer = render(request, "pages/job/_meter_field.html", context)
    return reswap(retarget(answer, f"#field-{asked.key}-{asked.quantity}"), "outerHTML")


def _for_line(inputs: list[Any]) -> dict[str, Any]:
    return {"reading": inputs[0][0], "meters": inputs[0][3]} if inputs else {}


def _filled(
    given: QueryDict, asked: Asked, job: Job, now: datetime, request: HttpRequest
) -> QueryDict:
    """Return what is typed, with the value that came behind what stands in its field already."""
    typed = given.copy()
    typed["step"] = asked.card
    made = asked.request
    if made is None or made.value is None:
        return typed
    checklist = queries.Traveller.of(job).checklist
    readings = checklist.by_key[asked.key].readings if asked.key in checklist.by_key else ()
    for reading in readings:
        if reading.quantity == asked.quantity:
            before = typed.get(asked.name, "").strip()
            typed[asked.name] = f"{before} {shown(made.value, reading)}".strip()
            typed[f"{asked.prefix}{INSTRUMENT}{reading.measures}"] = str(made.instrument_id)
    return typed


def shown(value: float, reading: ListedReading) -> str:
    """Return a value (in the unit without a prefix) as a person would type it into the field."""
    number = f"{value / typed_numbers.factor_of(reading.unit):.6g}"
    sign = str(preferences.value("decimal_sign"))
    text = number.replace(".", sign) if sign == "," else number
    # "1.234" may be read as a thousand; "1.2340" may not.
    whole_part, point, part = text.partition(sign)
    grouped = point and len(part) == 3 and whole_part.lstrip("-") not in ("", "0")
    return f"{text}0" if grouped else text
