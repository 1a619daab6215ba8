"""Pages of instruments: the list, and one with its ranges."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.instruments import accuracies, services
from shop.instruments.forms import AccuracyForm, InstrumentForm
from shop.instruments.models import Instrument
from shop.lib.refusals import UserFacingError
from shop.lib.text import whole
from shop.lib.web.errors import on_error


def _list_page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    today = timezone.localdate()
    found = list(Instrument.objects.prefetch_related("accuracies"))
    in_use = [
        {
            "instrument": one,
            "measures": list(dict.fromkeys(accuracies.title(r.measures) for r in _ranges(one))),
            "overdue": one.overdue(today),
        }
        for one in found
        if not one.retired_at
    ]
    return render(
        request,
        "instruments/instruments.html",
        {
            "in_use": in_use,
            "retired": [one for one in found if one.retired_at],
            "form": InstrumentForm(request.POST or None),
            "refused": str(error or ""),
        },
    )


def _ranges(instrument: Instrument) -> list[Any]:
    return list(instrument.accuracies.all())


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
@on_error(_list_page)
def instrument_list(request: HttpRequest) -> HttpResponseBase:
    """All instruments; a new one leads to its page."""
    if request.method != "POST":
        return _list_page(request)
    form = InstrumentForm(request.POST)
    if not form.is_valid():
        page = _list_page(request)
        page.status_code = 422
        return page
    made = services.save(None, form.about, by=signed_in(request))
    return redirect("instrument", made.pk)


def _page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    instrument = get_object_or_404(Instrument, pk=number)
    posted = request.POST or None
    of_range = "up_to" in request.POST
    context = {
        "instrument": instrument,
        "groups": _groups(instrument),
        "form": InstrumentForm(posted)
        if posted and not of_range
        else InstrumentForm.of(instrument),
        "range_form": AccuracyForm(posted if of_range else None),
        "overdue": instrument.overdue(timezone.localdate()),
        "refused": str(error or ""),
    }
    return render(request, "instruments/instrument.html", context)


def _groups(instrument: Instrument) -> list[tuple[str, list[tuple[int, str, str]]]]:
    """Return for each of what it measures its ranges: key, end, accuracy in words."""
    return [
        (
            accuracies.title(measures),
            [(r.pk, accuracies.amount(r.up_to, r.unit), accuracies.words(r)) for r in ranges],
        )
        for measures, ranges in groupby(_ranges(instrument), key=lambda one: one.measures)
    ]


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
@on_error(_page)
def instrument_page(request: HttpRequest, number: int) -> HttpResponseBase:
    """One instrument; posted, it is changed."""
    if request.method != "POST":
        return _page(request, number)
    form = InstrumentForm(request.POST)
    if not form.is_valid():
        return _wrong(request, number)
    instrument = get_object_or_404(Instrument, pk=number)
    services.save(instrument, form.about, by=signed_in(request))
    messages.success(request, _("Kept: {instrument}.").format(instrument=instrument))
    return redirect("instrument", number)


def _wrong(request: HttpRequest, number: int) -> HttpResponse:
    page = _page(request, number)
    page.status_code = 422
    return page


@require_POST
@needs("settings")
@on_error(_page)
def instrument_range(request: HttpRequest, number: int) -> HttpResponseBase:
    """Write or take off one range."""
    instrument, by = get_object_or_404(Instrument, pk=number), signed_in(request)
    if "drop" in request.POST:
        services.delete_accuracy(instrument, whole(request.POST["drop"]) or 0, by=by)
        return redirect("instrument", number)
    form = AccuracyForm(request.POST)
    if not form.is_valid():
        return _wrong(request, number)
    kept = form.cleaned_data
    services.save_accuracy(instrument, kept["measures"], kept["up_to"], form.off, by=by)
    messages.success(request, _("Kept: {title}.").format(title=accuracies.title(kept["measures"])))
    return redirect("instrument", number)


@require_POST
@needs("settings")
def instrument_retire(request: HttpRequest, number: int) -> HttpResponse:
    """Retire an instrument, or take it back into use."""
    instrument = get_object_or_404(Instrument, pk=number)
    at = None if request.POST.get("act") == "back" else timezone.now()
    services.set_retired(instrument, at, by=signed_in(request))
    return redirect("instruments")
