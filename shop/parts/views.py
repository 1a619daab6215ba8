"""Pages of parts, stock and suppliers."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.accounts.roles import require as require_ability
from shop.lib.refusals import UserFacingError
from shop.lib.web import htmx, table_files
from shop.lib.web.errors import on_error
from shop.lib.web.forms import cleaned
from shop.parts import queries, stock
from shop.parts.filters import MovementFilter, PartFilter, SupplierFilter
from shop.parts.forms import OfferForm, PartForm, StockForm, SupplierForm
from shop.parts.models import Bin, Movement, Part, Stock, Supplier
from shop.parts.tables import MovementTable, PartTable, SupplierTable

_WHERE = {"bin": stock.ARRIVALS}


@require_http_methods(["GET", "POST"])
@needs("read")
def part_list(request: HttpRequest) -> HttpResponse:
    form = PartForm(request.POST or None)
    if request.method == "POST":
        require_ability(request.user, "order")
        if form.is_valid():
            return redirect("part", form.save().pk)
    filters = PartFilter(request.GET, queries.parts())
    table = PartTable(filters.qs)
    if file := table_files.asked(request, table, "parts", rows_per_page=40):
        return file
    context = {"table": table, "form": form, "filters": filters}
    status = 422 if form.errors else 200
    return htmx.page(request, "parts/list.html", "parts/_list.html", context, status)


def _part(number: int) -> Part:
    part = queries.parts().filter(pk=number).first()
    if part is None:
        raise Http404(_("There is no part {number}.").format(number=number))
    return part


def _part_page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    part, typed = _part(number), request.POST
    movements = Movement.objects.filter(stock__part=part).select_related("stock__bin", "by")
    filters = MovementFilter(request.GET, movements)
    table = MovementTable(filters.qs)
    if file := table_files.asked(request, table, f"part-{number}", rows_per_page=30):
        return file
    context = {
        "part": part,
        "stock": part.stock.select_related("bin").filter(on_hand__gt=0),
        "offers": part.offers.select_related("supplier").prefetch_related("breaks"),
        "table": table,
        "filters": filters,
        "bins": Bin.objects.all(),
        "stock_form": StockForm(typed if "act" in typed else None, initial=_WHERE),
        "offer_form": OfferForm(typed if "breaks" in typed else None),
        "refused": str(error or ""),
    }
    return render(request, "parts/part.html", context)


@require_GET
@needs("read")
def part_page(request: HttpRequest, number: int) -> HttpResponse:
    return _part_page(request, number)


@require_POST
@needs("order")
@on_error(_part_page)
def part_offer(request: HttpRequest, number: int) -> HttpResponse:
    part, form = _part(number), OfferForm(request.POST)
    cleaned(form)
    with transaction.atomic():
        offer = form.save(part)
    messages.success(request, _("Prices of {supplier} are noted.").format(supplier=offer.supplier))
    return redirect("part", number)


@require_POST
@needs("order")
@on_error(_part_page)
def part_stock(request: HttpRequest, number: int) -> HttpResponse:
    part, data = _part(number), cleaned(StockForm(request.POST))
    with transaction.atomic():
        sentence = _move(part, data, stock.StockActor(signed_in(request), timezone.now()))
    messages.success(request, sentence)
    return redirect("part", number)


def _move(part: Part, data: dict[str, Any], actor: stock.StockActor) -> str:
    act, quantity = data["act"], data["quantity"]
    place, note = stock.get_or_create_bin(data["bin"]), data["note"]
    if act == "bought":
        row = stock.put_in(part, place, quantity, act, actor, note)
    else:
        row = Stock.objects.get_or_create(part=part, bin=place)[0]
        if act == "counted":
            row = stock.count(row.pk, quantity, actor, note)
        else:
            row = stock.take_out(row.pk, quantity, act, actor, note)
    return _("{on_hand} lie in {place}, {free} of them free.").format(
        on_hand=row.on_hand, place=place, free=row.free
    )


@require_http_methods(["GET", "POST"])
@needs("read")
def supplier_list(request: HttpRequest) -> HttpResponse:
    form = SupplierForm(request.POST or None)
    if request.method == "POST":
        require_ability(request.user, "order")
        if form.is_valid():
            return redirect("supplier", form.save().pk)
    filters = SupplierFilter(request.GET, Supplier.objects.all())
    table = SupplierTable(filters.qs)
    if file := table_files.asked(request, table, "suppliers", rows_per_page=40):
        return file
    context = {"table": table, "form": form, "filters": filters}
    return render(request, "parts/suppliers.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@needs("read")
def supplier_page(request: HttpRequest, number: int) -> HttpResponse:
    supplier = Supplier.objects.filter(pk=number).first()
    if supplier is None:
        raise Http404(_("There is no supplier {number}.").format(number=number))
    form = SupplierForm(request.POST or None, instance=supplier)
    if request.method == "POST":
        require_ability(request.user, "order")
        if form.is_valid():
            form.save()
            messages.success(request, _("The terms are noted."))
            return redirect("supplier", number)
    context = {
        "supplier": Supplier.objects.get(pk=number),
        "form": form,
        "offers": supplier.offers.select_related("part").prefetch_related("breaks"),
        "orders": supplier.orders.order_by("-placed_at")[:20],
    }
    return render(request, "parts/supplier.html", context, status=422 if form.errors else 200)
