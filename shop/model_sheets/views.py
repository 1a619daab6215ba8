"""Pages of model sheets: service data with its source, and what earlier units measured."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from checklists.engine.vocabulary import VOCABULARY
from shop.accounts.roles import needs, signed_in
from shop.jobs.earlier_readings import strips
from shop.jobs.facts import label, value_from_text
from shop.jobs.models import Job
from shop.lib.refusals import BadInput
from shop.model_sheets import services
from shop.model_sheets.models import Figure, ModelSheet

ABOUT_UNITS = [fact for fact in VOCABULARY.values() if fact.name.startswith("unit.")]


class SheetForm(forms.Form):
    """Which model."""

    make = forms.CharField(label="Make", max_length=120)
    model = forms.CharField(label="Model", max_length=120)


class FigureForm(forms.Form):
    """One figure."""

    name = forms.CharField(
        label="What",
        max_length=100,
        widget=forms.TextInput(attrs={"list": "figures", "autocomplete": "off"}),
    )
    value = forms.CharField(label="Value", max_length=2000)
    source = forms.CharField(label="Where it says so (document, page)", max_length=300)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
def model_list(request: HttpRequest) -> HttpResponseBase:
    """All sheets; a make and model that has one leads to it."""
    if request.method == "POST":
        return _open(request)
    given = {name: request.GET[name] for name in ("make", "model") if request.GET.get(name)}
    found = ModelSheet.objects.all()
    if len(given) == 2 and (one := found.filter(**given).first()):
        return redirect("model-sheet", one.pk)
    context = {"sheets": found[:500], "form": SheetForm(initial=given)}
    return render(request, "model_sheets/models.html", context)


@needs("record")
def _open(request: HttpRequest) -> HttpResponse:
    try:
        sheet = services.open_sheet(
            request.POST.get("make", ""), request.POST.get("model", ""), by=signed_in(request)
        )
    except BadInput as error:
        context = {"sheets": ModelSheet.objects.all()[:500], "form": SheetForm(request.POST)}
        return render(
            request, "model_sheets/models.html", context | {"refused": str(error)}, status=422
        )
    return redirect("model-sheet", sheet.pk)


@require_http_methods(["GET", "HEAD"])
@needs("read")
def model_sheet(request: HttpRequest, number: int) -> HttpResponse:
    """One sheet."""
    return _shown(request, get_object_or_404(ModelSheet, pk=number))


def _shown(request: HttpRequest, sheet: ModelSheet, status: int = 200, **more: Any) -> HttpResponse:
    context = {
        "sheet": sheet,
        "figures": [_figure(figure) for figure in sheet.figures.select_related("by")],
        "strips": strips(sheet.make, sheet.model).values(),
        "jobs": Job.objects.filter(unit__make=sheet.make, unit__model=sheet.model)
        .select_related("unit")
        .order_by("-number")[:20],
        "form": FigureForm(),
        "facts": ABOUT_UNITS,
    }
    return render(request, "model_sheets/model_sheet.html", context | more, status=status)


def _figure(figure: Figure) -> dict[str, Any]:
    fact = VOCABULARY.get(figure.name)
    return {"title": label(fact) if fact else figure.name, "figure": figure, "known": bool(fact)}


@require_POST
@needs("record")
def model_figure(request: HttpRequest, number: int) -> HttpResponse:
    """Write or take off one figure."""
    sheet = get_object_or_404(ModelSheet, pk=number)
    name = request.POST.get("name", "").strip()
    try:
        if request.POST.get("act") == "drop":
            services.drop(sheet, name, by=signed_in(request))
        else:
            typed = request.POST.get("value", "")
            value = value_from_text(name, typed) if name in VOCABULARY else typed
            source = request.POST.get("source", "")
            services.keep(sheet, name, value, source, by=signed_in(request), at=timezone.now())
            messages.success(request, f"Kept: {name}.")
    except BadInput as error:
        return _shown(request, sheet, 422, refused=str(error), form=FigureForm(request.POST))
    return redirect("model-sheet", sheet.pk)
