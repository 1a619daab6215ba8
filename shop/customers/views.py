"""Pages of customers."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, signed_in
from shop.customers import services as keeping
from shop.customers.filters import CustomerFilter
from shop.customers.forms import CustomerForm
from shop.customers.models import Customer
from shop.customers.tables import CustomerTable
from shop.lib.refusals import BadInput, UserFacingError
from shop.lib.web import table_files
from shop.lib.web.confirming import Question, unless_sure
from shop.lib.web.errors import on_error
from shop.lib.web.forms import add_problems


@require_GET
@needs("note")
def customers(request: HttpRequest) -> HttpResponse:
    """List customers, those that hold the words typed."""
    filters = CustomerFilter(request.GET, keeping.listed())
    table = CustomerTable(filters.qs)
    if file := table_files.asked(request, table, "customers", rows_per_page=30):
        return file
    return render(request, "customers/customers.html", {"table": table, "filters": filters})


@require_GET
@needs("note")
def customer(request: HttpRequest, key: int) -> HttpResponse:
    """Show what is kept of a customer, and their units."""
    return _page(request, get_object_or_404(Customer, pk=key))


@require_POST
@needs("receive")
def change(request: HttpRequest, key: int) -> HttpResponse:
    """Keep what was typed."""
    known = get_object_or_404(Customer, pk=key, erased_at=None)
    form = CustomerForm(request.POST)
    if form.is_valid():
        try:
            keeping.change(known, form.cleaned_data, by=signed_in(request), at=timezone.now())
        except BadInput as error:
            add_problems(form, error, lambda field: field.removeprefix("customer."))
        else:
            messages.success(request, _("Kept."))
            return redirect("customer", key)
    known.refresh_from_db()
    return _page(request, known, form=form, status=422)


@require_GET
@needs("note")
def data(request: HttpRequest, key: int) -> HttpResponse:
    """Hand out everything kept of a person."""
    everything = keeping.told(get_object_or_404(Customer, pk=key))
    answer = JsonResponse(everything, json_dumps_params={"ensure_ascii": False, "indent": 1})
    answer["Content-Disposition"] = f'attachment; filename="customer-{key}.json"'
    return answer


def _erasing(known: Customer) -> Question:
    here = keeping.jobs_of(known).filter(closed_at=None).values_list("number", flat=True)
    units = (
        _("Still here: {jobs}.").format(
            jobs=", ".join(_("job {number}").format(number=number) for number in here)
        )
        if here
        else ""
    )
    return Question(
        title=_("Erase {known}?").format(known=known),
        follows=[
            _(
                "Name, addresses, telephone, consent, messages and pictures of parcels are taken away."
                " This cannot be undone."
            ),
            _(
                "The record of the work stays, without the person; issued bills keep whom they were for."
            ),
            units or _("No unit of theirs is here. Check that nothing is owed."),
        ],
        button=_("Yes, erase this person"),
        back=reverse("customer", args=[known.pk]),
    )


def _back(request: HttpRequest, key: int, *, error: UserFacingError) -> HttpResponse:
    messages.warning(request, str(error))
    return redirect("customer", key)


@require_POST
@needs("persons")
@on_error(_back)
def erase(request: HttpRequest, key: int) -> HttpResponse:
    """Take away everything personal, once the box is ticked."""
    known = get_object_or_404(Customer, pk=key)
    if asked := unless_sure(request, _erasing(known)):
        return asked
    keeping.erase(known, by=signed_in(request), at=timezone.now())
    messages.success(request, _("Erased. The jobs keep the facts of the work."))
    return redirect("customer", key)


def _page(
    request: HttpRequest,
    known: Customer,
    *,
    form: CustomerForm | None = None,
    status: int = 200,
) -> HttpResponse:
    stored = {name: getattr(known, name) for name in keeping.PERSONAL}
    stored["agreed_to_mail"] = known.agreed_to_mail_at is not None
    context = {
        "customer": known,
        "form": form or CustomerForm(initial=stored),
        "jobs": keeping.jobs_of(known)[:100],
    }
    return render(request, "customers/customer.html", context, status=status)
