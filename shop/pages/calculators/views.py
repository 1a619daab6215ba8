"""Pages of calculators."""

from __future__ import annotations

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
from shop.lib.refusals import BadInput, Refused
from shop.pages.calculators.forms import CalculationForm, ToJobForm


@require_GET
@needs("read")
def calculators(request: HttpRequest) -> HttpResponse:
    offered = [one for one in registry.CALCULATIONS.values() if not one.shell_only]
    groups = [(name, list(ones)) for name, ones in groupby(offered, lambda one: one.group)]
    return render(request, "pages/calculators/calculators.html", {"groups": groups})


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
def calculator(request: HttpRequest, name: str) -> HttpResponse:
    one = registry.CALCULATIONS.get(name)
    if one is None or one.shell_only:
        raise Http404(f"There is no calculator {name}.")
    if request.method == "POST":
        require(signed_in(request), "note")
        return _send(request, one)
    asked = {name for name in one.inputs if name in request.GET}
    form = CalculationForm(one, request.GET if asked else None)
    worked = _worked(one, form) if asked else {}
    return _shown(request, one, form, worked)


def _worked(one: Calculation, form: CalculationForm) -> dict[str, Any]:
    """Return arguments and result, or the sentence why there is none."""
    form.is_valid()
    try:
        arguments = form.arguments(one.inputs)
        result = one.run(arguments)
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


def _shown(
    request: HttpRequest,
    one: Calculation,
    form: CalculationForm,
    worked: dict[str, Any],
    *,
    to_job: ToJobForm | None = None,
    status: int = 200,
) -> HttpResponse:
    to_job = to_job or ToJobForm(initial={"job": request.GET.get("job", "")})
    if worked.get("refused") and status == 200:
        status = 422
    context = {"one": one, "form": form, "to_job": to_job, **worked}
    return render(request, "pages/calculators/calculator.html", context, status=status)


def _send(request: HttpRequest, one: Calculation) -> HttpResponse:
    """Work it out anew from what the page carried, and write it into the job."""
    form, to_job = CalculationForm(one, request.POST), ToJobForm(request.POST)
    worked = _worked(one, form)
    if "result" not in worked:
        return _shown(request, one, form, worked, to_job=to_job)
    if not to_job.is_valid():
        worked["refused"] = (
            f"Job is {request.POST.get('job', '')[:20]!r}; it must be a job's number."
        )
        return _shown(request, one, form, worked, to_job=to_job, status=422)
    number = to_job.cleaned_data["job"]
    try:
        queries.job(number, timezone.now())
        kind, data = _row(request.POST.get("as", ""), one, worked)
        commands.record(number, kind, data, by=signed_in(request), at=timezone.now())
    except (BadInput, Refused, Http404) as error:
        worked["refused"] = error.sentence if isinstance(error, Refused) else str(error)
        status = 409 if isinstance(error, Refused) else 422
        return _shown(request, one, form, worked, to_job=to_job, status=status)
    messages.success(request, f"Written into job {number}.")
    query = urlencode(
        {**{n: request.POST[n] for n in one.inputs if request.POST.get(n)}, "job": number}
    )
    return redirect(f"{request.path}?{query}")


def _row(wanted: str, one: Calculation, worked: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Return the ledger row: one figure as a reading, or all of it as a note."""
    told = formatting.note(one.name, worked["arguments"], worked["result"])
    value = worked["result"].get(wanted)
    if isinstance(value, float | int) and not isinstance(value, bool):
        data = {"quantity": wanted, "value": value, "unit": unit_of(wanted), "note": told}
        return "reading_taken", data | {"source": f"worked out by {one.name}"}
    return "note_added", {"text": told}
