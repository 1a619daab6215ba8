"""The page on which the owner decides about the shop."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.jobs import shop_keys
from shop.pages.settings.forms import SettingsForm
from shop.preferences import changing, current
from shop.preferences.models import SettingChange

LINES_OF_HISTORY = 20


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
def settings_page(request: HttpRequest) -> HttpResponse:
    """Show every setting with where it comes from; keep what was changed."""
    form = SettingsForm(
        request.POST if request.method == "POST" else None, in_force=current.all_in_force()
    )
    if request.method == "POST" and form.is_valid() and _kept(request, form):
        return redirect("settings")
    history = SettingChange.objects.order_by("-id")[:LINES_OF_HISTORY]
    context = {"form": form, "history": history, "key": shop_keys.state()}
    status = 422 if form.errors else 200
    return render(request, "pages/settings/settings.html", context, status=status)


def _kept(request: HttpRequest, form: SettingsForm) -> bool:
    """Keep what was typed, or put each sentence at its field."""
    by, now = signed_in(request).username, timezone.now()
    try:
        changed = changing.change(_changed_texts(form), by=by, at=now)
    except changing.CannotSet as error:
        for name, sentence in error.problems.items():
            form.add_error(name, sentence)
        return False
    if changed:
        messages.success(request, "Settings kept.")
    return True


def _changed_texts(form: SettingsForm) -> dict[str, str | None]:
    """Return what differs from what was shown; an emptied field goes back to its default."""
    texts = form.texts()
    shown = {one.setting.name: one for one in form.in_force}
    return {
        name: text if text or not shown[name].setting.default else None
        for name, text in texts.items()
        if text != shown[name].text
    }
