"""How an instrument is reached: found, set up and tested. The worker asks; the page looks again."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.instruments import asking, connecting
from shop.instruments.forms import ConnectionForm
from shop.instruments.models import Connection, Instrument, Request
from shop.lib.refusals import UserFacingError
from shop.lib.text import whole
from shop.lib.web.errors import on_error


def _page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    instrument = get_object_or_404(Instrument, pk=number)
    connection = Connection.objects.filter(instrument=instrument).first()
    typed = request.POST if "resource" in request.POST else None
    shown = ConnectionForm(typed) if typed else None
    context = {
        "instrument": instrument,
        "connection": connection,
        "form": shown or ConnectionForm.of(connection, request.GET.get("resource", "")),
        "refused": str(error or ""),
        "asked": _last(request, number),
    }
    return render(request, "instruments/connection.html", context)


def _last(request: HttpRequest, number: int) -> Request | None:
    """Return what this person asked for last on this page."""
    mine = Request.objects.filter(by=signed_in(request))
    tests = mine.filter(instrument_id=number, what=Request.TEST)
    return asking.looked_at(tests | mine.filter(what=Request.FIND), timezone.now())


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
@on_error(_page)
def connection(request: HttpRequest, number: int) -> HttpResponseBase:
    """Set up, find, test or take off; a page that waits for an answer looks again by itself."""
    if request.method != "POST":
        return _page(request, number)
    instrument, by = get_object_or_404(Instrument, pk=number), signed_in(request)
    act, now = request.POST.get("act", ""), timezone.now()
    if act == "find":
        asking.find(by=by, at=now)
    elif act == "test":
        asking.test(instrument, by=by, at=now)
    elif act == "identity":
        connecting.identify(instrument, request.POST.get("identity", ""), by=by, at=now)
    elif act == "drop":
        connecting.drop(instrument, by=by)
    else:
        form = ConnectionForm(request.POST)
        if not form.is_valid():
            page = _page(request, number)
            page.status_code = 422
            return page
        kept = form.cleaned_data
        made = connecting.save(instrument, kept["resource"], kept["baud"], form.commands, by=by)
        if not made.at_browser:
            asking.test(instrument, by=by, at=now)
    return redirect("instrument-connection", number)


@require_GET
@needs("settings")
def connection_asked(request: HttpRequest, number: int) -> HttpResponse:
    """What came of the last test or search, as a piece of the page."""
    asked = _last(request, number)
    if asked is not None and whole(request.GET.get("of", "")) == asked.pk and not asked.open:
        # The rest of the page follows from it: whether it is connected.
        answer = HttpResponse()
        answer["HX-Refresh"] = "true"
        return answer
    context = {"asked": asked, "instrument": get_object_or_404(Instrument, pk=number)}
    return render(request, "instruments/_asked.html", context)
