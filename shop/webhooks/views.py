"""The pages of addresses that are told: all of them, and one with what it was told."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.lib.refusals import UserFacingError
from shop.lib.web.confirming import Question, unless_sure
from shop.lib.web.errors import on_error
from shop.lib.web.forms import cleaned
from shop.webhooks import services
from shop.webhooks.forms import EndpointForm
from shop.webhooks.models import Endpoint

SHOWN = 50


def _list(
    request: HttpRequest, *, error: UserFacingError | None = None, secret: str = ""
) -> HttpResponse:
    context = {
        "endpoints": Endpoint.objects.all(),
        "form": EndpointForm(request.POST if error else None),
        "refused": str(error or ""),
        "secret": secret,
    }
    return render(request, "webhooks/webhooks.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
@on_error(_list)
def webhooks(request: HttpRequest) -> HttpResponse:
    """List the addresses; add one and show its secret, once."""
    if request.method != "POST":
        return _list(request)
    data = cleaned(EndpointForm(request.POST))
    _, secret = services.add(
        data["address"],
        data["events"],
        private_allowed=data["private_allowed"],
        by=signed_in(request),
        at=timezone.now(),
    )
    return _list(request, secret=secret)


def _page(
    request: HttpRequest, key: int, *, error: UserFacingError | None = None, secret: str = ""
) -> HttpResponse:
    endpoint = get_object_or_404(Endpoint, pk=key)
    kept = {name: getattr(endpoint, name) for name in ("address", "events", "private_allowed")}
    typed = request.POST if error and request.POST.get("act") == "change" else None
    context: dict[str, Any] = {
        "endpoint": endpoint,
        "form": EndpointForm(typed, initial=kept),
        "deliveries": endpoint.deliveries.all()[:SHOWN],
        "refused": str(error or ""),
        "secret": secret,
    }
    return render(request, "webhooks/webhook.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
@on_error(_page)
def webhook(request: HttpRequest, key: int) -> HttpResponse:
    """Show one address with what it was told; change it, try it, switch it on, take it away."""
    endpoint, by, now = get_object_or_404(Endpoint, pk=key), signed_in(request), timezone.now()
    if request.method != "POST":
        return _page(request, key)
    act = request.POST.get("act")
    if act == "secret":
        return _page(request, key, secret=services.new_secret(endpoint, by=by))
    if act == "remove":
        return _removed(request, endpoint)
    if act == "test":
        services.send_test(endpoint, by=by, at=now)
        messages.success(request, _("The worker sends a test within a minute; it is listed below."))
    elif act == "on":
        services.switch_on(endpoint, by=by, at=now)
        messages.success(request, _("Switched on."))
    else:
        data = cleaned(EndpointForm(request.POST))
        services.change(
            endpoint,
            data["address"],
            data["events"],
            private_allowed=data["private_allowed"],
            by=by,
        )
        messages.success(request, _("Kept."))
    return redirect("webhook", key)


def _removed(request: HttpRequest, endpoint: Endpoint) -> HttpResponse:
    question = Question(
        title=_("Take {endpoint} away?").format(endpoint=endpoint),
        follows=[_("It is told nothing any more, and what it was told is forgotten.")],
        button=_("Yes, take it away"),
        back=reverse("webhook", args=[endpoint.pk]),
    )
    asked = unless_sure(request, question)
    if asked is not None:
        return asked
    services.remove(endpoint, by=signed_in(request))
    messages.success(request, _("Taken away."))
    return redirect("webhooks")
