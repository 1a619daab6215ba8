"""Pages of outlets: the list, one outlet with its claim, its label."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import may, needs, signed_in
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.lib.web.errors import on_error
from shop.outlets import claims, labels, queries, services
from shop.outlets.forms import OutletForm
from shop.outlets.models import Outlet


def _list_page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    context = {
        "outlets": queries.outlets(timezone.now()),
        "form": OutletForm(request.POST or None),
        "missing": queries.missing(),
        "refused": str(error or ""),
    }
    return render(request, "outlets/outlets.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
@on_error(_list_page)
def outlet_list(request: HttpRequest) -> HttpResponseBase:
    """All outlets; a new one leads to its page."""
    if request.method != "POST":
        return _list_page(request)
    form = OutletForm(request.POST)
    if not form.is_valid():
        return _unprocessable(_list_page(request))
    made = services.save(None, form.cleaned_data, by=signed_in(request))
    return redirect("outlet", made.pk)


def _unprocessable(page: HttpResponse) -> HttpResponse:
    page.status_code = 422
    return page


def _page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    outlet = get_object_or_404(Outlet.objects.select_related("claimed_by_job__unit"), pk=number)
    now = queries.now_of(outlet, timezone.now())
    posted = request.POST if "host" in request.POST else None
    context: dict[str, Any] = {
        "outlet": outlet,
        "now": now,
        "held": queries.held_for(outlet, now),
        "last_test": outlet.commissionings.select_related("by").first(),
        "refused": str(error or ""),
    }
    if may(request.user, claims.ABILITY):
        context["jobs"] = queries.open_jobs()
    if may(request.user, services.ABILITY):
        context["form"] = OutletForm(posted) if posted else OutletForm.of(outlet)
    return render(request, "outlets/outlet.html", context)


@require_GET
@needs("read")
def outlet(request: HttpRequest, number: int) -> HttpResponse:
    """One outlet: what it reports, whose plug is in it. Its label leads here."""
    return _page(request, number)


@require_POST
@needs("settings")
@on_error(_page)
def outlet_change(request: HttpRequest, number: int) -> HttpResponseBase:
    """Change where it is found, end its use with enables, or forget it."""
    found, by = get_object_or_404(Outlet, pk=number), signed_in(request)
    act = request.POST.get("act", "")
    if act == "only-report":
        services.only_report(found, by=by)
        messages.success(request, _("{found} only reports from now on.").format(found=found))
        return redirect("outlet", number)
    if act == "forget":
        services.delete(found, by=by)
        messages.success(request, _("{found} is forgotten.").format(found=found))
        return redirect("outlets")
    form = OutletForm(request.POST)
    if not form.is_valid():
        return _unprocessable(_page(request, number))
    services.save(found, form.cleaned_data, by=by)
    messages.success(request, _("Kept: {found}.").format(found=found))
    return redirect("outlet", number)


@require_POST
@needs("move")
@on_error(_page)
def outlet_claim(request: HttpRequest, number: int) -> HttpResponseBase:
    """Say which job's plug is in it."""
    job = whole(request.POST.get("job", ""))
    if job is None or not Job.objects.filter(pk=job).exists():
        raise bad("job", _("job is missing; choose the job whose plug is in this outlet."))
    get_object_or_404(Outlet, pk=number)
    said = claims.claim(number, job, by=signed_in(request), at=timezone.now())
    messages.info(request, said)
    return redirect("outlet", number)


@require_POST
@needs("isolate")
def outlet_leave(request: HttpRequest, number: int) -> HttpResponse:
    """End a claim: nobody's plug is in it, as far as anybody says."""
    get_object_or_404(Outlet, pk=number)
    claims.give_up(number, by=signed_in(request))
    messages.info(request, _("No job claims it now. That records nothing about a plug."))
    return redirect("outlet", number)


@require_GET
@needs("read")
def outlet_label(request: HttpRequest, number: int) -> HttpResponse:
    """Its label, to be printed and stuck beside the socket."""
    found = get_object_or_404(Outlet, pk=number)
    context = {
        "outlet": found,
        "code": labels.drawing(found),
        "address": labels.address(found),
    }
    return render(request, "outlets/label.html", context)
