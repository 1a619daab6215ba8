"""Pages of the backlog: what waits, what to order, what a parcel holds, how work flows."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.jobs import commands, queries
from shop.jobs.models import JobPart
from shop.lib.refusals import BadInput, Refused
from shop.lib.web import htmx
from shop.parts.models import Allocation, Offer, Order, OrderLine, Part
from shop.parts.orders import LineToOrder
from shop.parts.substitute_views import substitutes_of
from shop.planning import flow, ordering, outcomes, proposing, waiting
from shop.planning.forecasting import Forecaster, load
from shop.planning.forms import BasketForm, OneOrderForm, ParcelForm, WhichPartForm, counts_from
from shop.planning.next_up import next_up


@require_GET
@needs("read")
def backlog_page(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    unordered = _with_offers()
    context = {
        "waits": waiting.waits(now),
        "parcels": waiting.parcels(now),
        "unordered": unordered[: waiting.SHOWN],
        "together": waiting.together(unordered),
        "now_list": next_up(now),
    }
    return htmx.page(request, "planning/page.html", "planning/_page.html", context)


def _with_offers() -> list[JobPart]:
    offers = Offer.objects.select_related("supplier").order_by("supplier__name")
    return list(proposing.orderable().prefetch_related(Prefetch("part__offers", offers))[:200])


@require_http_methods(["GET", "POST"])
@needs("order")
def order(request: HttpRequest) -> HttpResponse:
    """Propose a basket for the ticked needs (GET), or place the one that was seen (POST)."""
    known = list(proposing.offered(proposing.orderable())[:200])
    sent = request.POST or request.GET
    form = BasketForm(sent if "per_day" in sent else None, needs=known)
    chosen, per_day = known[: proposing.MOST_NEEDS], Decimal(settings.WAITING_COSTS)
    context: dict[str, Any] = {"needs": known, "form": form, "unknown": _without_part()}
    status = 200
    if form.is_bound and form.is_valid():
        ticked = set(form.cleaned_data["needs"])
        chosen = [need for need in known if str(need.pk) in ticked]
        per_day = form.cleaned_data["per_day"]
    elif form.is_bound:
        status, chosen = 422, []
    context |= {"per_day": per_day, "ticked": {need.pk for need in chosen}}
    try:
        if chosen or form.is_bound:
            context["proposal"] = proposal = proposing.propose(chosen, per_day)
            if request.method == "POST" and status == 200:
                return _place(request, proposal)
    except (BadInput, Refused) as error:
        status = 422 if isinstance(error, BadInput) else 409
        context["refused"] = str(error)
    return render(request, "planning/order.html", context, status=status)


def _without_part() -> list[JobPart]:
    priced = proposing.offered(proposing.orderable()).values("pk")
    return list(proposing.orderable().exclude(pk__in=priced)[:100])


def _place(request: HttpRequest, proposal: proposing.Proposal) -> HttpResponse:
    placed = proposing.place(
        proposal, request.POST.get("digest", ""), by=signed_in(request), at=timezone.now()
    )
    for made in placed:
        messages.success(request, f"{made}: expected {made.expected_on:%-d %B}.")
    return redirect("backlog")


def _need(number: int, sequence: int) -> JobPart:
    job = queries.job(number, timezone.now())
    found = JobPart.objects.select_related("job__unit", "part")
    need = found.filter(job=job, need=min(sequence, 2**31 - 1)).first()
    if need is None:
        raise Http404(f"Job {number} has no part need {sequence}.")
    return need


@require_http_methods(["GET", "POST"])
@needs("order")
def need_page(request: HttpRequest, number: int, need: int) -> HttpResponse:
    """Order one need without a basket."""
    wanted = _need(number, need)
    form = OneOrderForm(request.POST or None, initial={"quantity": max(1, wanted.missing)})
    refused, status = "", 200
    if request.method == "POST" and form.is_valid():
        try:
            return _order_one(request, wanted, form)
        except (BadInput, Refused) as error:
            refused, status = str(error), 409
    elif form.errors:
        status = 422
    context = {"need": wanted, "form": form, "refused": refused, "part_form": WhichPartForm()}
    return render(request, "planning/need.html", context, status=status)


def _order_one(request: HttpRequest, need: JobPart, form: OneOrderForm) -> HttpResponse:
    by, at, data = signed_in(request), timezone.now(), form.cleaned_data
    part = need.part or _name_part(request, need, None)
    mine = ((need.job_id, need.need), min(need.missing, data["quantity"]))
    line = LineToOrder(part, data["quantity"], data["price"], (mine,))
    made = ordering.place(
        data["supplier"],
        [line],
        by=by,
        at=at,
        reference=data["reference"],
        expected_on=data["expected_on"],
    )
    messages.success(request, f"{made}: expected {made.expected_on:%-d %B}.")
    return redirect("parcel", made.pk)


def _name_part(request: HttpRequest, need: JobPart, part: Part | None) -> Part:
    """Say which part of the list a need is; without one, its own words make a new part."""
    chosen = part or Part.objects.get_or_create(spec=need.spec)[0]
    row = {"need": need.need, "part": chosen.pk}
    commands.record(need.job_id, "part_specified", row, by=signed_in(request), at=timezone.now())
    return chosen


@require_POST
@needs("order")
def need_part(request: HttpRequest, number: int, need: int) -> HttpResponse:
    wanted, form = _need(number, need), WhichPartForm(request.POST)
    if not form.is_valid():
        messages.error(request, "That part is not in the list.")
        return redirect("need", number, need)
    try:
        part = _name_part(request, wanted, form.cleaned_data["part"])
    except (BadInput, Refused) as error:
        messages.error(request, str(error))
        return redirect("need", number, need)
    messages.success(request, f"{wanted.spec}: this is {part}.")
    return redirect("part", part.pk)


@require_GET
@needs("read")
def need_substitutes(request: HttpRequest, number: int, need: int) -> HttpResponse:
    """Show what could stand in for the part of a need, to be chosen for it."""
    wanted = _need(number, need)
    if wanted.part is None:
        raise Http404(f"Need {need} of job {number} names no part of the list yet.")
    chosen = {"choose_url": reverse("need-part", args=[number, need]), "job": number}
    return render(request, "parts/substitutes.html", substitutes_of(wanted.part) | chosen)


def _order(number: int) -> Order:
    lines = OrderLine.objects.select_related("part").prefetch_related(
        Prefetch("allocations", Allocation.objects.filter(dropped_at=None))
    )
    found = Order.objects.filter(pk=min(number, 2**63 - 1)).select_related("supplier", "placed_by")
    order = found.prefetch_related(Prefetch("lines", lines)).first()
    if order is None:
        raise Http404(f"There is no order {number}.")
    return order


@require_http_methods(["GET", "POST"])
@needs("read")
def parcel(request: HttpRequest, number: int) -> HttpResponse:
    """Show an order, and take down what became of its parcel."""
    found = _order(number)
    refused, status = "", 200
    if request.method == "POST":
        try:
            return _unpack(request, found)
        except (BadInput, Refused) as error:
            refused, status = str(error), 409 if isinstance(error, Refused) else 422
    context = {"order": _order(number), "refused": refused, "typed": request.POST}
    return render(request, "planning/parcel.html", context, status=status)


def _unpack(request: HttpRequest, found: Order) -> HttpResponse:
    by, at, form = signed_in(request), timezone.now(), ParcelForm(request.POST)
    if not form.is_valid():
        raise BadInput([(n, " ".join(map(str, es))) for n, es in form.errors.items()])
    act, counts = form.cleaned_data["act"], counts_from(found, request.POST)
    if act == "arrived":
        served = ordering.arrive(found.pk, counts, by=by, at=at, place=form.cleaned_data["bin"])
        said = "Taken in" + (f" for {_named(served)}." if served else "; nobody waits for it.")
    else:
        stranded = ordering.give_up(found.pk, counts, why=act, by=by, at=at)
        said = f"Noted as {act}." + (
            f" {_named(stranded)}: to be ordered anew." if stranded else ""
        )
    messages.success(request, said)
    return redirect("parcel", found.pk)


def _named(jobs: list[int]) -> str:
    return f"job{'' if len(jobs) == 1 else 's'} {', '.join(map(str, jobs))}"


@require_GET
@needs("read")
def finish(request: HttpRequest, number: int) -> HttpResponse:
    """Say when a job will be done; a fragment of its sheet, or a page of its own."""
    now = timezone.now()
    job = queries.job(number, now)
    context = {"job": job, "finish": Forecaster(now, [job]).finish(job), "load": load(now)}
    return htmx.page(request, "planning/finish.html", "planning/_finish.html", context)


@require_GET
@needs("read")
def flow_page(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    released, back = flow.returns(now)
    context = {
        "stages": flow.stages(now),
        "weeks": flow.weeks(now),
        "little": flow.little(now),
        "released": released,
        "back": back,
        "outcomes": {"kind": outcomes.by_kind(now), "cause": outcomes.by_cause(now)},
    }
    return render(request, "planning/flow.html", context)
