"""The page on which a person has this browser told."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, signed_in
from shop.lib import text
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import on_error
from shop.push import keys, services
from shop.push.models import Subscription


def _page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    here = keys.library_is_here()
    context = {
        "browsers": Subscription.objects.filter(person=signed_in(request)),
        "public_key": keys.public_key() if here else "",
        "refused": str(error or ""),
    }
    return render(request, "push/push.html", context)


@require_GET
@needs("read")
def push(request: HttpRequest) -> HttpResponse:
    return _page(request)


@require_POST
@needs("read")
@on_error(_page)
def add(request: HttpRequest) -> HttpResponse:
    """Keep this browser, as its script describes it."""
    services.add(
        signed_in(request),
        address=request.POST.get("address", ""),
        p256dh=request.POST.get("p256dh", ""),
        auth=request.POST.get("auth", ""),
        browser=request.headers.get("User-Agent", ""),
        at=timezone.now(),
    )
    messages.success(request, _("This browser is told."))
    return redirect("push")


@require_POST
@needs("read")
def remove(request: HttpRequest) -> HttpResponse:
    """Tell one browser of the person nothing any more."""
    services.remove(signed_in(request), text.whole(request.POST.get("key", "")) or 0)
    messages.success(request, _("It is told nothing any more."))
    return redirect("push")
