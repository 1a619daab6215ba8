"""The page on which a customer says what comes: no account, one unit, until it is here."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.customers import terms
from shop.customers.announced import queries, services
from shop.customers.announced.forms import CustomersForm
from shop.customers.announced.models import Announcement
from shop.customers.links import keys
from shop.lib.languages import in_force
from shop.lib.limits import allow
from shop.lib.refusals import BadInput, Refused
from shop.lib.web.forms import add_problems
from shop.pages.customer.views import ANSWERS, HOUR, opened_by, slowly

by_announcement = opened_by(queries.opened, "announcement", lambda row: row.language)


@require_http_methods(["GET", "HEAD", "POST"])
@by_announcement
def announce(request: HttpRequest, row: Announcement) -> HttpResponseBase:
    """Take down what the customer says; it can be changed until the unit is here."""
    if row.job is not None:
        return _here(request, row)
    if request.method != "POST":
        # Whoever reads this page reads its language, until they say another.
        known = queries.values(row) | {"language": row.language or in_force()}
        return _form(request, row, CustomersForm(initial=known))
    if not allow(f"announcement-answers/{row.pk}", ANSWERS, seconds=HOUR):
        return slowly(request)
    form = CustomersForm(request.POST)
    if form.is_valid():
        try:
            services.say(row.pk, form.cleaned_data, at=timezone.now())
        except BadInput as error:
            add_problems(form, error)
        except Refused:
            pass  # It came in or was taken away in this moment: the page says so.
    if form.errors:
        return _form(request, row, form, 422)
    return redirect("announce", queries.token(row))


def _form(
    request: HttpRequest, row: Announcement, form: CustomersForm, status: int = 200
) -> HttpResponse:
    context = {"row": row, "form": form, "terms": terms.lines()}
    return render(request, "pages/customer/announce.html", context, status=status)


def _here(request: HttpRequest, row: Announcement) -> HttpResponse:
    live = keys.live_link(row.job, now=timezone.now()) if row.job else None
    context = {"row": row, "token": keys.token(live) if live else ""}
    return render(request, "pages/customer/announced_here.html", context)
