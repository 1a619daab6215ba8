"""Pages of calculators."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from shop.accounts.roles import needs, require, signed_in
from shop.bench import formatting, registry
from shop.bench.alarms import alarm_of
from shop.bench.calculations import Calculation
from shop.bench.inputs import Doubtful
from shop.bench.units import unit_of
from shop.jobs import commands, queries
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web import htmx
from shop.lib.web.errors import on_error
from shop.pages.calculators import catalogue
from shop.pages.calculators.forms import CalculationForm, ToJobForm

LONGEST = 100
_GOOD = {
    "enough",
    "stands-it",
    "pass",
    "fits",
    "good",
    "plausible",
    "right",
    "proved",
    "will-settle",
    "within",
    "regulates",
}
_NEITHER = {None, "not-compared", "not-measured", "within-watts"}


@require_GET
@needs("read")
def calculators(request: HttpRequest) -> HttpResponse:
    """The index, or what has the words typed."""
    typed = request.GET.get("q", "").strip()[:LONGEST]
    context: dict[str, Any] = {"typed": typed}
    if typed:
        context["found"] = catalogue.found(typed)
    else:
        context["areas"] = catalogue.by_area(catalogue.offered())
        context["most_used"] = catalogue.most_used()
    return htmx.page(
        request, "pages/calculators/calculators.html", "pages/calculators/_index.html", context
    )


def _page(request: HttpRequest, name: str, *, error: UserFacingError | None = None) -> HttpResponse:
    """Show the form, and the result once any input was given; a job that was typed stays."""
    calculation, given = _calculation(name), request.POST or request.GET
    asked = any(field in given for field in calculation.inputs)
    form = CalculationForm(calculation, given if asked else None)
    outcome = _calculate(calculation, form) if asked else {}
    to_job = ToJobForm(request.POST or None, initial={"job": request.GET.get("job", "")})
    context = {"calculation": calculation, "form": form, "to_job": to_job, **outcome}
    context["command"] = settings.COMMAND
    if "result" in outcome and request.method == "GET":
        catalogue.count_use(name)
    if error:
        context["refused"] = str(error)
    status = 422 if outcome.get("refused") else 200
    return render(request, "pages/calculators/calculator.html", context, status=status)


def _calculation(name: str) -> Calculation:
    calculation = registry.CALCULATIONS.get(name)
    if calculation is None or calculation.shell_only:
        raise Http404(_("There is no calculator {name}.").format(name=name))
    return calculation


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
@on_error(_page)
def calculator(request: HttpRequest, name: str) -> HttpResponse:
    if request.method != "POST":
        return _page(request, name)
    require(signed_in(request), "note")
    return _write(request, _calculation(name), timezone.now())


def _calculate(calculation: Calculation, form: CalculationForm) -> dict[str, Any]:
    """Return arguments and result, or the sentence why there is none."""
    if not form.is_valid():
        # A field that is refused has no value, and a result without it would be another one.
        return {"refused": form.first_error}
    try:
        arguments = form.arguments(calculation.inputs)
        result = calculation.run(arguments)
    except Doubtful as error:
        return {"refused": str(error), "doubtful": True}
    except ValueError as error:
        return {"refused": str(error)}
    reasons = next(
        (v for v in result.values() if v and isinstance(v, list) and isinstance(v[0], dict)), []
    )
    return {
        "arguments": arguments,
        "result": result,
        "given": formatting.lines(arguments),
        "reasons": reasons,
        "cautions": _cautions(calculation, alarm_of(calculation.name, arguments, result)),
        "verdict_ink": _verdict_ink(result.get("verdict")),
        **_lines(calculation, result),
    }


def _verdict_ink(verdict: str | None) -> str:
    """Return the colour of a verdict; what was not compared is neither good nor bad."""
    return "" if verdict in _NEITHER else "good" if verdict in _GOOD else "bad"


def _lines(calculation: Calculation, result: dict[str, Any]) -> dict[str, Any]:
    """Return the figures: those that were asked for first, the others, and the sentence."""
    lines, named = formatting.lines(result), calculation.words.first_by_key
    by_key = {line.key: line for line in lines}
    first = [replace(by_key[key], name=name or by_key[key].name) for key, name in named.items()]
    rest = [line for line in lines if line.key not in named and line.key != "says"]
    return {"lines": lines, "first": first, "rest": rest, "says": result.get("says", "")}


def _cautions(calculation: Calculation, alarm: dict[str, str]) -> list[dict[str, str]]:
    """Return what the result warns of before what always holds; one box for one signal word."""
    always = calculation.warns
    if alarm and alarm["signal_word"] == always.get("signal_word"):
        return [alarm | {"text": f"{alarm['text']} {always['text']}"}]
    return [caution for caution in (alarm, always) if caution]


def _write(request: HttpRequest, calculation: Calculation, now: datetime) -> HttpResponse:
    """Work it out anew from what the page carried, and write it into the job."""
    outcome = _calculate(calculation, CalculationForm(calculation, request.POST))
    if "result" not in outcome:
        raise bad("inputs", outcome["refused"])
    number = _job_number(request, now)
    event_type, data = _row(request.POST.get("as", ""), calculation, outcome)
    commands.record(number, event_type, data, by=signed_in(request), at=now)
    messages.success(request, _("Written into job {number}.").format(number=number))
    inputs = {name: request.POST[name] for name in calculation.inputs if request.POST.get(name)}
    return redirect(f"{request.path}?{urlencode(inputs | {'job': str(number)})}")


def _job_number(request: HttpRequest, now: datetime) -> int:
    """Return the number of the job that was typed; BadInput when it is none."""
    form = ToJobForm(request.POST)
    if not form.is_valid():
        typed = request.POST.get("job", "")[:20]
        raise bad("job", _("Job is {typed!r}; it must be a job's number.").format(typed=typed))
    number: int = form.cleaned_data["job"]
    if not queries.jobs(now).filter(pk=number).exists():
        raise bad("job", _("There is no job {number}.").format(number=number))
    return number


def _row(
    wanted: str, calculation: Calculation, outcome: dict[str, Any]
) -> tuple[str, dict[str, Any]]:
    """Return the ledger row: one figure as a reading, or all of it as a note."""
    note = formatting.note(calculation.name, outcome["arguments"], outcome["result"])
    value = outcome["result"].get(wanted)
    if isinstance(value, float | int) and not isinstance(value, bool):
        data = {"quantity": wanted, "value": value, "unit": unit_of(wanted), "note": note}
        return "reading_taken", data | {"source": f"worked out by {calculation.name}"}
    return "note_added", {"text": note}
