"""Pages of what is on its way, for the shop."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.customers.announced import queries, services
from shop.customers.announced.forms import AnnouncementForm
from shop.customers.announced.models import Announcement
from shop.lib.refusals import BadInput, UserFacingError
from shop.lib.web.confirming import Question, unless_sure
from shop.lib.web.errors import on_error
from shop.lib.web.forms import add_problems

SHOWN = 100


@require_http_methods(["GET", "HEAD", "POST"])
@needs("receive")
def announced(request: HttpRequest) -> HttpResponse:
    """What is on its way; announce another, or begin a link that the customer fills."""
    form = AnnouncementForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            row = services.announce(form.cleaned_data, by=signed_in(request), at=timezone.now())
        except BadInput as error:
            add_problems(form, error)
        else:
            messages.success(request, _("Taken down."))
            return redirect("announcement", row.pk)
    context = {
        "form": form,
        "expected": queries.expected()[:SHOWN],
        "asked": queries.asked()[:SHOWN],
        "today": timezone.localdate(),
    }
    status = 422 if form.errors else 200
    return render(request, "intake/announced.html", context, status=status)


def _page(
    request: HttpRequest, row: Announcement, form: AnnouncementForm, status: int = 200
) -> HttpResponse:
    context: dict[str, Any] = {"row": row, "form": form}
    if row.expires_at > timezone.now():
        context["address"] = queries.address(row)
    return render(request, "intake/announcement.html", context, status=status)


@require_GET
@needs("receive")
def announcement(request: HttpRequest, key: int) -> HttpResponse:
    """One of them, with the customer's link; one that is here leads to its job."""
    row = get_object_or_404(Announcement, pk=key)
    if row.job_id is not None:
        return redirect("job", row.job_id)
    return _page(request, row, AnnouncementForm(initial=queries.values(row)))


def _back(request: HttpRequest, key: int, *, error: UserFacingError) -> HttpResponse:
    messages.warning(request, str(error))
    return redirect("announced")


@require_POST
@needs("receive")
@on_error(_back)
def change(request: HttpRequest, key: int) -> HttpResponse:
    """Keep what was typed."""
    row = get_object_or_404(Announcement, pk=key)
    form = AnnouncementForm(request.POST)
    if form.is_valid():
        try:
            services.change(key, form.cleaned_data, by=signed_in(request), at=timezone.now())
        except BadInput as error:
            add_problems(form, error)
        else:
            messages.success(request, _("Kept."))
            return redirect("announcement", key)
    return _page(request, row, form, 422)


@require_POST
@needs("receive")
@on_error(_back)
def drop(request: HttpRequest, key: int) -> HttpResponse:
    """Take it away, once that is meant."""
    row = get_object_or_404(Announcement, pk=key)
    if row.job_id is None and (asked := unless_sure(request, _dropping(row))):
        return asked
    services.drop(key, by=signed_in(request))
    messages.success(request, _("Taken away."))
    return redirect("announced")


def _dropping(row: Announcement) -> Question:
    return Question(
        title=_("{row}: it does not come?").format(row=row),
        follows=[_("What was said and whose it is goes. The customer's link ends.")],
        button=_("Yes, take it away"),
        back=reverse("announcement", args=[row.pk]),
    )
