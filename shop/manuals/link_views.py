"""A page beside a step, a suspect or a fact: put there, and taken off again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from shop.accounts.roles import needs, signed_in
from shop.lib.web.errors import on_error
from shop.manuals import queries, services
from shop.manuals.models import Manual, PageLink
from shop.manuals.page_views import show_page


@require_POST
@needs("note")
@on_error(show_page)
def link(request: HttpRequest, key: int, page: int) -> HttpResponse:
    """Show a page beside what was chosen."""
    made = services.link_page(
        get_object_or_404(Manual, pk=key),
        page,
        request.POST.get("beside", ""),
        request.POST.get("words", ""),
        by=signed_in(request),
        at=timezone.now(),
    )
    messages.success(
        request, _("The page is shown beside: {title}.").format(title=queries.title_of(made))
    )
    return redirect("manual-page", key, page)


@require_POST
@needs("note")
def unlink(request: HttpRequest, key: int) -> HttpResponse:
    """No longer show it there."""
    made = get_object_or_404(PageLink, pk=key)
    services.unlink_page(made, by=signed_in(request))
    messages.success(request, _("The page is no longer shown there."))
    return redirect("manual-page", made.manual_id, made.page)
