"""Pages of model sheets: service data with its source, and what earlier units measured."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from checklists.engine.vocabulary import VOCABULARY
from shop.accounts.roles import needs, require, signed_in
from shop.jobs.earlier_readings import strips
from shop.jobs.facts import shown_label, value_from_text
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError
from shop.lib.web import htmx
from shop.lib.web.errors import on_error
from shop.manuals import queries as manual_queries
from shop.manuals import views as manual_views
from shop.manuals.services import Owner
from shop.model_sheets import queries, services
from shop.model_sheets.models import Figure, ModelSheet
from shop.photos.services import photos_of_model

ABOUT_UNITS = [fact for fact in VOCABULARY.values() if fact.name.startswith("unit.")]


class SheetForm(forms.Form):
    """Which model."""

    make = forms.CharField(label=gettext_lazy("Make"), max_length=120)
    model = forms.CharField(label=gettext_lazy("Model"), max_length=120)


class FigureForm(forms.Form):
    """One figure."""

    name = forms.CharField(
        label=gettext_lazy("What"),
        max_length=100,
        widget=forms.TextInput(attrs={"list": "figures", "autocomplete": "off"}),
    )
    value = forms.CharField(label=gettext_lazy("Value"), max_length=2000)
    source = forms.CharField(
        label=gettext_lazy("Where it says so (document, page)"), max_length=300
    )


def _list_page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    given = {name: request.GET[name] for name in ("make", "model") if request.GET.get(name)}
    typed = request.GET.get("q", "").replace("\0", " ").strip()[:120]
    context = {
        "models": queries.known_models(typed),
        "typed": typed,
        "form": SheetForm(request.POST or None, initial=given),
        "asked": bool(given) or request.method == "POST",
        "refused": str(error or ""),
    }
    return htmx.page(request, "model_sheets/models.html", "model_sheets/_models.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
@on_error(_list_page)
def model_list(request: HttpRequest) -> HttpResponseBase:
    """All sheets; a make and model that has one leads to it."""
    if request.method == "POST":
        return _open(request)
    make, model = request.GET.get("make"), request.GET.get("model")
    sheet = ModelSheet.objects.filter(make=make, model=model).first() if make and model else None
    return redirect("model-sheet", sheet.pk) if sheet else _list_page(request)


def _open(request: HttpRequest) -> HttpResponse:
    require(request.user, "record")
    make, model = request.POST.get("make", ""), request.POST.get("model", "")
    sheet = services.get_or_create_sheet(make, model, by=signed_in(request))
    return redirect("model-sheet", sheet.pk)


def _sheet_page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    sheet = get_object_or_404(ModelSheet, pk=number)
    of_model = Job.objects.filter(unit__make=sheet.make, unit__model=sheet.model)
    context = {
        "sheet": sheet,
        "figures": _figures(sheet),
        "manuals": manual_views.address_of_model(sheet.make, sheet.model),
        "strips": strips(sheet.make, sheet.model).values(),
        "counted": queries.counted(sheet.make, sheet.model),
        "causes": queries.usual_causes(sheet.make, sheet.model),
        "parts": queries.usual_parts(sheet.make, sheet.model),
        "jobs": of_model.select_related("unit").order_by("-number")[:20],
        "photos": photos_of_model(sheet.make, sheet.model),
        "form": FigureForm(request.POST or None),
        "facts": ABOUT_UNITS,
        "refused": str(error or ""),
    }
    return render(request, "model_sheets/model_sheet.html", context)


def _figures(sheet: ModelSheet) -> list[dict[str, Any]]:
    pages = manual_queries.links_of_facts(Owner(sheet.make, sheet.model))
    return [
        _figure(figure) | {"pages": pages.get(figure.name, ())}
        for figure in sheet.figures.select_related("by")
    ]


def _figure(figure: Figure) -> dict[str, Any]:
    fact = VOCABULARY.get(figure.name)
    return {
        "title": shown_label(fact) if fact else figure.name,
        "figure": figure,
        "known": bool(fact),
    }


@require_http_methods(["GET", "HEAD"])
@needs("read")
def model_sheet(request: HttpRequest, number: int) -> HttpResponse:
    """One sheet."""
    return _sheet_page(request, number)


@require_POST
@needs("record")
@on_error(_sheet_page)
def model_figure(request: HttpRequest, number: int) -> HttpResponse:
    """Write or take off one figure."""
    sheet, by = get_object_or_404(ModelSheet, pk=number), signed_in(request)
    name = request.POST.get("name", "").strip()
    if request.POST.get("act") == "drop":
        services.delete_figure(sheet, name, by=by)
    else:
        typed = request.POST.get("value", "")
        value = value_from_text(name, typed) if name in VOCABULARY else typed
        services.save_figure(
            sheet, name, value, request.POST.get("source", ""), by=by, at=timezone.now()
        )
        messages.success(request, _("Kept: {name}.").format(name=name))
    return redirect("model-sheet", sheet.pk)
