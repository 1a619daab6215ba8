"""The page of a person's tokens: made, listed, revoked."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import may, needs, signed_in
from shop.api.models import MOST_DAYS, USUAL_DAYS, ApiToken


class TokenForm(forms.Form):
    """A new token: what it is for, what it may do, and for how long."""

    name = forms.CharField(label=gettext_lazy("What it is for"), max_length=80)
    scope = forms.ChoiceField(label=gettext_lazy("What it may do"), choices=ApiToken.SCOPES)
    days = forms.IntegerField(
        label=gettext_lazy("Days until it ends"),
        min_value=1,
        max_value=MOST_DAYS,
        initial=USUAL_DAYS,
    )


@require_GET
@needs("read")
def tokens(request: HttpRequest) -> HttpResponse:
    """List the tokens of the person; an owner sees everybody's."""
    return _page(request, TokenForm())


@require_POST
@needs("read")
def make_token(request: HttpRequest) -> HttpResponse:
    """Make a token and show it, once."""
    form = TokenForm(request.POST)
    if not form.is_valid():
        return _page(request, form, status=422)
    return _page(request, TokenForm(), made=ApiToken.make(signed_in(request), **form.cleaned_data))


@require_POST
@needs("read")
def revoke_token(request: HttpRequest, number: int) -> HttpResponse:
    """Revoke a token; one of somebody else only as the owner."""
    found = _seen_by(request).filter(pk=number, revoked_at=None)
    if found.update(revoked_at=timezone.now()):
        messages.success(request, _("Revoked: it opens nothing any more."))
    return redirect("tokens")


def _seen_by(request: HttpRequest) -> QuerySet[ApiToken]:
    all_tokens = ApiToken.objects.select_related("user").order_by("-id")
    return (
        all_tokens if may(request.user, "persons") else all_tokens.filter(user=signed_in(request))
    )


def _page(
    request: HttpRequest, form: TokenForm, *, made: str = "", status: int = 200
) -> HttpResponse:
    now = timezone.now()
    rows = [(token, token.stands(now)) for token in _seen_by(request)]
    context = {"form": form, "rows": rows, "made": made}
    return render(request, "api/tokens.html", context, status=status)
