"""Pages of the backlog: what waits, what to order, what a parcel holds, how work flows."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.contrib.auth.models import User
from django.db.models import Prefetch, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts.roles import needs, signed_in
from shop.jobs import commands
from shop.jobs.decorators import job_page
from shop.jobs.models import Job, JobPart
from shop.lib import languages
from shop.lib.refusals import UserFacingError
from shop.lib.web import htmx
from shop.lib.web.confirming import Question, unless_sure
from shop.lib.web.errors import on_error
from shop.lib.web.forms import cleaned
from shop.parts.forms import supplier_from
from shop.parts.models import Allocation, Offer, Order, OrderLine, Part
from shop.parts.orders import LineToOrder
from shop.parts.substitute_views import substitutes_of
from shop.planning import backlog, basket_proposals, flow_metrics, ordering, repair_outcomes
from shop.planning.forecasting import Forecaster, load
from shop.planning.forms import (
    BasketForm,
    OneOrderForm,
    ParcelForm,
    WhichPartForm,
    counts_from,
    parcels_from,
)
from shop.planning.next_actions import next_actions
from shop.planning.stage_ages import stage_ages

MOST_LISTED = 200


def _backlog(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    now = timezone.now()
    unordered = _with_offers()
    context = {
        "waits": backlog.waiting_jobs(now),
        "parcels": backlog.open_parcels(now),
        "unordered": unordered[: backlog.SHOWN],
        "together": backlog.supplier_groups(unordered),
        "next_actions": next_actions(now),
        "refused": str(error or ""),
    }
    return htmx.page(request, "planning/backlog.html", "planning/_backlog.html", context)


@require_GET
@needs("read")
def backlog_page(request: HttpRequest) -> HttpResponse:
    return _backlog(request)


@require_POST
@needs("order")
@on_error(_backlog)
def parcels_arrived(request: HttpRequest) -> HttpResponse:
    """Take in the parcels that are ticked, each as it was ordered."""
    jobs = ordering.arrive_whole(
        parcels_from(request.POST),
        by=signed_in(request),
        at=timezone.now(),
        place=request.POST.get("bin", ""),
    )
    messages.success(request, _taken_in(jobs))
    return redirect("backlog")


def _with_offers() -> list[JobPart]:
    offers = Offer.objects.select_related("supplier").order_by("supplier__name")
    return list(
        basket_proposals.unordered_needs().prefetch_related(Prefetch("part__offers", offers))[
            :MOST_LISTED
        ]
    )


@require_http_methods(["GET", "POST"])
@needs("order")
def order(request: HttpRequest) -> HttpResponse:
    """Propose a basket for the ticked needs (GET), or place the one that was seen (POST)."""
    priced = basket_proposals.with_offers(basket_proposals.unordered_needs())
    form = BasketForm(request.POST or request.GET, needs=list(priced[:MOST_LISTED]))
    context: dict[str, Any] = {"form": form, "unpriced": _without(priced)}
    try:
        context["proposal"] = proposal = _proposal(form)
        if request.method == "POST" and proposal:
            return _place(request, proposal)
    except UserFacingError as error:
        context["refused"] = str(error)
        return render(request, "planning/order.html", context, status=error.status)
    return render(request, "planning/order.html", context)


def _proposal(form: BasketForm) -> basket_proposals.Proposal | None:
    """Return the basket of what is ticked; None while there is nothing to order."""
    if form.is_bound:
        cleaned(form)
    elif not form.chosen:
        return None
    return basket_proposals.propose_basket(form.chosen, form.price_per_day)


def _without(priced: QuerySet[JobPart]) -> list[JobPart]:
    return list(basket_proposals.unordered_needs().exclude(pk__in=priced.values("pk"))[:100])


def _place(request: HttpRequest, proposal: basket_proposals.Proposal) -> HttpResponse:
    placed = basket_proposals.place_basket(
        proposal, request.POST.get("digest", ""), by=signed_in(request), at=timezone.now()
    )
    for made in placed:
        messages.success(request, _expected(made))
    return redirect("backlog")


def _need(job: Job, sequence: int) -> JobPart:
    needs = JobPart.objects.select_related("job__unit", "part")
    need = needs.filter(job=job, need=sequence).first()
    if need is None:
        raise Http404(
            _("Job {number} has no part need {sequence}.").format(
                number=job.number, sequence=sequence
            )
        )
    return need


def _need_page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    need: int,
    *,
    error: UserFacingError | None = None,
) -> HttpResponse:
    wanted, typed = _need(job, need), request.POST
    context = {
        "need": wanted,
        "form": OneOrderForm(
            typed if "quantity" in typed else None, initial={"quantity": max(1, wanted.missing)}
        ),
        "part_form": WhichPartForm(typed if "part" in typed else None),
        "refused": str(error or ""),
    }
    return render(request, "planning/need.html", context)


@require_http_methods(["GET", "POST"])
@job_page("order", on_error=_need_page)
def need_page(request: HttpRequest, job: Job, now: datetime, need: int) -> HttpResponse:
    """Order one need without a basket."""
    if request.method != "POST":
        return _need_page(request, job, now, need)
    wanted, data, by = _need(job, need), cleaned(OneOrderForm(request.POST)), signed_in(request)
    part = wanted.part or _name_part(wanted, None, by=by, at=now)
    for_need = ((job.number, wanted.need), min(wanted.missing, data["quantity"]))
    made = ordering.place(
        supplier_from(data),
        [LineToOrder(part, data["quantity"], data["price"], (for_need,))],
        by=by,
        at=now,
        reference=data["reference"],
        expected_on=data["expected_on"],
    )
    messages.success(request, _expected(made))
    return redirect("parcel", made.pk)


def _name_part(need: JobPart, part: Part | None, *, by: User, at: datetime) -> Part:
    """Say which part of the list a need is; without one, its own words make a new part."""
    chosen = part or Part.objects.get_or_create(spec=need.spec)[0]
    data = {"need": need.need, "part": chosen.pk}
    commands.record(need.job_id, "part_specified", data, by=by, at=at)
    return chosen


@require_POST
@job_page("order", on_error=_need_page)
def need_part(request: HttpRequest, job: Job, now: datetime, need: int) -> HttpResponse:
    wanted, chosen = _need(job, need), cleaned(WhichPartForm(request.POST))["part"]
    part = _name_part(wanted, chosen, by=signed_in(request), at=now)
    messages.success(request, _("{spec}: this is {part}.").format(spec=wanted.spec, part=part))
    return redirect("part", part.pk)


@require_GET
@job_page("read")
def need_substitutes(request: HttpRequest, job: Job, now: datetime, need: int) -> HttpResponse:
    """Show what could stand in for the part of a need, to be chosen for it."""
    wanted = _need(job, need)
    if wanted.part is None:
        raise Http404(
            _("Need {need} of job {number} names no part of the list yet.").format(
                need=need, number=job.number
            )
        )
    chosen = {"choose_url": reverse("need-part", args=[job.number, need]), "job": job.number}
    return render(request, "parts/substitutes.html", substitutes_of(wanted.part) | chosen)


def _order(number: int) -> Order:
    lines = OrderLine.objects.select_related("part").prefetch_related(
        Prefetch("allocations", Allocation.objects.filter(dropped_at=None))
    )
    orders = Order.objects.select_related("supplier", "placed_by")
    order = orders.filter(pk=number).prefetch_related(Prefetch("lines", lines)).first()
    if order is None:
        raise Http404(_("There is no order {number}.").format(number=number))
    return order


def _parcel_page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    context = {"order": _order(number), "refused": str(error or ""), "typed": request.POST}
    return render(request, "planning/parcel.html", context)


@require_http_methods(["GET", "POST"])
@needs("read")
@on_error(_parcel_page)
def parcel(request: HttpRequest, number: int) -> HttpResponse:
    """Show an order, and take down what became of its parcel."""
    if request.method != "POST":
        return _parcel_page(request, number)
    opened, data = _order(number), cleaned(ParcelForm(request.POST))
    counts, act = counts_from(opened, request.POST), data["act"]
    by, at = signed_in(request), timezone.now()
    if act == "arrived":
        jobs = ordering.arrive(number, counts, by=by, at=at, place=data["bin"])
        sentence = _taken_in(jobs)
    elif asked := unless_sure(request, _giving_up(opened, counts, act)):
        return asked
    else:
        jobs = ordering.give_up(number, counts, why=act, by=by, at=at)
        sentence = _given_up(act, jobs)
    messages.success(request, sentence)
    return redirect("parcel", number)


def _giving_up(order: Order, counts: dict[int, int], why: str) -> Question:
    pieces = [
        f"{counts[line.pk]} x {line.part}" for line in order.lines.all() if counts.get(line.pk)
    ]
    return Question(
        title=_("{order}: give up as {why}?").format(order=order, why=why),
        follows=[
            _("{pieces} of this order: nobody waits for them any more.").format(
                pieces=", ".join(pieces) or _("No piece")
            ),
            _("Jobs that need them have to order anew."),
        ],
        button=_("Yes, {why}").format(why=why),
        back=reverse("parcel", args=[order.pk]),
    )


def _expected(order: Order) -> str:
    day = languages.day_of_year(order.expected_on)
    return _("{order}: expected {day}.").format(order=order, day=day)


def _taken_in(jobs: list[int]) -> str:
    if not jobs:
        return _("Taken in; nobody waits for it.")
    sentence = ngettext("Taken in for job {numbers}.", "Taken in for jobs {numbers}.", len(jobs))
    return sentence.format(numbers=", ".join(map(str, jobs)))


def _given_up(why: str, jobs: list[int]) -> str:
    if not jobs:
        return _("Noted as {why}.").format(why=why)
    sentence = ngettext(
        "Noted as {why}. job {numbers}: to be ordered anew.",
        "Noted as {why}. jobs {numbers}: to be ordered anew.",
        len(jobs),
    )
    return sentence.format(why=why, numbers=", ".join(map(str, jobs)))


@require_GET
@job_page("read")
def finish(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Say when a job will be done; a fragment of its sheet, or a page of its own."""
    context = {"job": job, "finish": Forecaster(now, [job]).finish(job), "load": load(now)}
    return htmx.page(request, "planning/finish.html", "planning/_finish.html", context)


@require_GET
@needs("read")
def flow_page(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    uncured = repair_outcomes.Uncured.at(now)
    context = {
        "stages": stage_ages(now),
        "weeks": flow_metrics.weekly_flow(now),
        "little": flow_metrics.littles_law(now),
        "released": repair_outcomes.released(now),
        "back": len(uncured.back_of_a_year),
        "outcomes": {
            pgettext("repairs by", "kind"): repair_outcomes.by_unit_kind(uncured),
            pgettext("repairs by", "cause"): repair_outcomes.by_cause(uncured),
        },
    }
    return render(request, "planning/flow.html", context)
