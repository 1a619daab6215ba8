"""The page that walks through the test of an outlet."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import on_error
from shop.outlets import commissioning, queries, services
from shop.outlets.commissioning import ELECTRICIAN, QUESTIONS
from shop.outlets.models import UNDER_TEST, Outlet


def _page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    outlet = get_object_or_404(Outlet, pk=number)
    now = queries.now_of(outlet, timezone.now())
    context: dict[str, Any] = {
        "outlet": outlet,
        "now": now,
        "held": queries.held_for(outlet, now),
        "under_test": outlet.use == UNDER_TEST,
        "questions": [(one, request.POST.get(one.key, "")) for one in QUESTIONS],
        "electrician": request.POST.get(ELECTRICIAN, ""),
        "against": services.against_enables(outlet),
        "tests": [
            (test, commissioning.wrong(test.answers))
            for test in outlet.commissionings.select_related("by")
        ],
        "refused": str(error or ""),
    }
    return render(request, "outlets/commissioning.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
@on_error(_page)
def outlet_commissioning(request: HttpRequest, number: int) -> HttpResponseBase:
    """Begin the test; posted with answers, record it."""
    if request.method != "POST":
        return _page(request, number)
    outlet, by = get_object_or_404(Outlet, pk=number), signed_in(request)
    if request.POST.get("act") == "begin":
        commissioning.begin(outlet, by=by)
        return redirect("outlet-commissioning", number)
    at = timezone.now()
    done = commissioning.finish(
        outlet, request.POST.dict(), queries.now_of(outlet, at), by=by, at=at
    )
    if done.passed:
        messages.success(
            request,
            _("{outlet} is commissioned: permits enable it from now on.").format(outlet=outlet),
        )
    else:
        refused = " ".join(commissioning.wrong(done.answers))
        messages.error(
            request,
            _("{outlet} is refused. {refused} It only reports.").format(
                outlet=outlet, refused=refused
            ),
        )
    return redirect("outlet-commissioning", number)
