"""Pages of accounts that are ours."""

from __future__ import annotations

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.accounts.filters import SignInFilter
from shop.accounts.models import SignIn
from shop.accounts.roles import needs
from shop.accounts.tables import SignInTable
from shop.lib.web import table_files


@require_GET
@needs("read")
def account(request: HttpRequest) -> HttpResponse:
    # Tries that were refused stand under the name alone.
    own = SignIn.objects.filter(Q(person=request.user.pk) | Q(name=request.user.get_username()))[
        :10
    ]
    return render(request, "accounts/account.html", {"sign_ins": own})


@require_GET
@needs("persons")
def sign_ins(request: HttpRequest) -> HttpResponse:
    filters = SignInFilter(request.GET, SignIn.objects.select_related("person"))
    table = SignInTable(filters.qs)
    if file := table_files.asked(request, table, "sign-ins", rows_per_page=50):
        return file
    return render(request, "accounts/sign_ins.html", {"table": table, "filters": filters})
