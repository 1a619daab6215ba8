"""The pages on which the owner decides about the shop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import needs, signed_in
from shop.backups import queries as backups
from shop.jobs import shop_keys
from shop.lib import mail_server
from shop.lib.refusals import UserFacingError
from shop.pages.settings.forms import SettingsForm, country_name, in_words
from shop.preferences import changing, countries, current
from shop.preferences.definitions import BY_NAME
from shop.preferences.kinds import EMAIL, PICTURE, BadText
from shop.preferences.models import SettingChange

LINES_OF_HISTORY = 20


@dataclass(frozen=True)
class Told:
    """One line of the history, in words."""

    row: SettingChange

    @property
    def title(self) -> str:
        """What the setting is called."""
        return current.title_of(self.row.name)

    @property
    def words(self) -> str:
        """What became of it; a secret and a picture are not told."""
        known = BY_NAME.get(self.row.name)
        if self.row.cleared:
            return _("back to its default") if not (known and known.secret) else _("taken away")
        if known and (known.secret or known.kind is PICTURE):
            return _("another one") if self.row.text or known.secret else _("taken away")
        return _("is {value}").format(value=self.row.text) if self.row.text else _("is empty")


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
def settings_page(request: HttpRequest) -> HttpResponse:
    """Show every setting with where it comes from; keep what was changed."""
    post = request.method == "POST"
    form = SettingsForm(
        request.POST if post else None,
        request.FILES if post else None,
        in_force=current.all_in_force(),
    )
    if post and form.is_valid() and _kept(request, form):
        return _afterwards(request)
    history = SettingChange.objects.order_by("-id")[:LINES_OF_HISTORY]
    context = {
        "form": form,
        "history": [Told(row) for row in history],
        "key": shop_keys.state(),
        "test_to": request.POST.get("test_to") or signed_in(request).email,
        "country": current.value("country"),
        "backup": backups.state(timezone.now()),
    }
    status = 422 if form.errors else 200
    return render(request, "pages/settings/settings.html", context, status=status)


def _afterwards(request: HttpRequest) -> HttpResponse:
    """Send the test letter when asked to; ask about another country when there is what to ask."""
    if request.POST.get("act") == "test":
        messages.info(request, _test_letter(request.POST.get("test_to", "").strip()))
    elif "country" in request.session.pop("settings-changed", []) and countries.proposals(
        current.value("country")
    ):
        return redirect("settings-country")
    return redirect("settings")


def _test_letter(to: str) -> str:
    try:
        address = EMAIL.read(to) if to else ""
    except BadText as error:
        said = _("Nothing was sent: the address of the test letter is {typed}; write {right}.")
        return said.format(typed=repr(to), right=current.right(error))
    if not address:
        return _("Nothing was sent: write whom the test letter is for.")
    return mail_server.send_test_letter(address)


def _kept(request: HttpRequest, form: SettingsForm) -> bool:
    """Keep what was typed, or put each sentence at its field."""
    try:
        changed = _change(request, form.changed_texts())
    except changing.CannotSet as error:
        for name, sentence in error.problems.items():
            form.add_error(name, sentence)
        return False
    except UserFacingError as error:
        form.add_error("logo", str(error))
        return False
    request.session["settings-changed"] = changed
    return True


def _change(request: HttpRequest, texts: Mapping[str, str | None]) -> list[str]:
    changed = changing.change(texts, by=signed_in(request).username, at=timezone.now())
    if changed:
        messages.success(request, _("Settings kept."))
    if "mail_password" in changed and not texts.get("mail_password"):
        messages.info(
            request,
            _("The password was typed for another server or user and is forgotten; type it again."),
        )
    return changed


@require_http_methods(["GET", "HEAD", "POST"])
@needs("settings")
def country_page(request: HttpRequest) -> HttpResponse:
    """Show what is usual where the shop is; take what is ticked and nothing else."""
    country = current.value("country")
    proposed = countries.proposals(country)
    if request.method == "POST":
        wanted = request.POST.getlist("take")
        _change(request, {one.name: one.text for one in proposed if one.name in wanted})
        return redirect("settings")
    context = {
        "country": country_name(country),
        "proposals": [(one, in_words(one.text), in_words(one.now.text)) for one in proposed],
    }
    return render(request, "pages/settings/country.html", context)
