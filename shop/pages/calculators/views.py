"""Pages of calculators."""

from __future__ import annotations

from datetime import datetime
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.accounts.roles import needs, require, signed_in
from shop.bench import formatting, registry
from shop.bench.calculations import Calculation
from shop.bench.inputs import Doubtful
from shop.bench.units import unit_of
from shop.jobs import commands, queries
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web.errors import on_error
from shop.pages.calculators.forms import CalculationForm, ToJobForm


@require_GET
@needs("read")
def calculators(request: HttpRequest) -> HttpResponse:
    offered = [known for known in registry.CALCULATIONS.values() if not known.shell_only]
    groups = [(name, list(group)) for name, group in groupby(offered, lambda known: known.group)]
    return render(request, "pages/calculators/calculators.html", {"groups": groups})


def _page(request: HttpRequest, name: str, *, error: UserFacingError | None = None) -> HttpResponse:
    """Show the form, and the result once any input was given; a job that was typed stays."""
    calculation, given = _calculation(name), request.POST or request.GET
    asked = any(field in given for field in calculation.inputs)
    form = CalculationForm(calculation, given if asked else None)
    outcome = _calculate(calculation, form) if asked else {}
    to_job = ToJobForm(request.POST or None, initial={"job": request.GET.get("job", "")})
    context = {"calculation": calculation, "form": form, "to_job": to_job, **outcome}
    if error:
        context["refused"] = str(error)
    status = 422 if outcome.get("refused") else 200
    return render(request, "pages/calculators/calculator.html", context, status=status)


def _calculation(name: str) -> Calculation:
    calculation = registry.CALCULATIONS.get(name)
    if calculation is None or calculation.shell_only:
        raise Http404(f"There is no calculator {name}.")
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
    form.is_valid()
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
        "lines": formatting.lines(result),
        "given": formatting.lines(arguments),
        "reasons": reasons,
    }


def _write(request: HttpRequest, calculation: Calculation, now: datetime) -> HttpResponse:
    """Work it out anew from what the page carried, and write it into the job."""
    outcome = _calculate(calculation, CalculationForm(calculation, request.POST))
    if "result" not in outcome:
        raise bad("inputs", outcome["refused"])
    number = _job_number(request, now)
    event_type, data = _row(request.POST.get("as", ""), calculation, outcome)
    commands.record(number, event_type, data, by=signed_in(request), at=now)
    messages.success(request, f"Written into job {number}.")
    inputs = {name: request.POST[name] for name in calculation.inputs if request.POST.get(name)}
    return redirect(f"{request.path}?{urlencode(inputs | {'job': str(number)})}")


def _job_number(request: HttpRequest, now: datetime) -> int:
    """Return the number of the job that was typed; BadInput when it is none."""
    form = ToJobForm(request.POST)
    if not form.is_valid():
        typed = request.POST.get("job", "")[:20]
        raise bad("job", f"Job is {typed!r}; it must be a job's number.")
    number: int = form.cleaned_data["job"]
    if not queries.jobs(now).filter(pk=number).exists():
        raise bad("job", f"There is no job {number}.")
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
