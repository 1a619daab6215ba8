"""Parts that jobs wait for, orders and parcels, what is next, when a job will be done."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any

from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.utils import timezone
from django.utils.translation import gettext
from ninja import Router, Schema, Status
from pydantic import Field, WithJsonSchema

from checklists.engine.quoting import quoted
from shop.api import schemas
from shop.api.app import on_job, person
from shop.api.once import Replay, once
from shop.jobs import queries
from shop.lib.refusals import bad
from shop.parts import queries as part_queries
from shop.parts.models import Order, Part, Supplier
from shop.parts.orders import LineToOrder
from shop.planning import backlog, next_actions, ordering
from shop.planning.forecasting import FinishForecast, Forecaster

router = Router(tags=["backlog"])
MOST_LINES = 1000
WHY_GIVEN_UP = ("lost", "wrong", "cancelled")


class Outstanding(Schema):
    """A part that has not arrived."""

    job: int
    need: int
    spec: str
    required: bool
    ordered: bool
    since: datetime
    part: int | None
    quantity: int
    arrived: int


@router.get("backlog/parts/", response=list[Outstanding])
def parts(request: HttpRequest) -> list[dict[str, object]]:
    """List every outstanding part of the open jobs, longest wait first."""
    person(request)
    return queries.outstanding_parts()


class PartOut(Schema):
    """A part of the list, with how many lie in the bins, are free, and are on order."""

    number: int = Field(validation_alias="pk")
    spec: str
    lying: int = Field(validation_alias="stock_on_hand")
    free: int = Field(validation_alias="stock_free")
    on_order: int


@router.get("parts/", response=list[PartOut])
def part_list(request: HttpRequest, q: str = "") -> QuerySet[Part]:
    """List parts whose words all hold `q`, 200 at most."""
    person(request)
    return part_queries.parts(q)[:200]


class NeedIn(schemas.Strict):
    """A need that a line serves."""

    job: int = Field(ge=1, lt=2**63)
    need: int = Field(ge=1, lt=2**31)
    quantity: int = Field(1, ge=1, le=9999)


class LineIn(schemas.Strict):
    """A line to order; money in the shop's currency."""

    part: int = Field(ge=1, lt=2**63)
    quantity: int = Field(ge=1, le=1_000_000)
    price: Decimal = Field(Decimal(0), ge=0, max_digits=12, decimal_places=4)
    needs: list[NeedIn] = Field([], max_length=MOST_LINES)


class OrderIn(schemas.Strict):
    """An order at one supplier."""

    supplier: int = Field(ge=1, lt=2**63)
    lines: list[LineIn] = Field(max_length=MOST_LINES)
    reference: str = ""
    expected_on: date | None = None


class LineOut(Schema):
    """A line of an order."""

    line: int = Field(validation_alias="pk")
    part: int = Field(validation_alias="part_id")
    spec: str = Field(validation_alias="part.spec")
    quantity: int
    arrived: int
    given_up: int


class OrderOut(Schema):
    """An order with its lines, and the jobs that its parcel frees."""

    number: int
    supplier: str
    expected_on: date
    late_days: int
    closed: bool
    lines: list[LineOut]
    frees: list[int]


class ParcelIn(schemas.Strict):
    """Pieces by order line, and the bin they go into."""

    lines: dict[int, int]
    bin: str = ""


class GivenUpIn(schemas.Strict):
    """Pieces by order line that nobody waits for any more, and why."""

    lines: dict[int, int]
    # The endpoint says what is wrong with another word.
    why: Annotated[str, WithJsonSchema({"type": "string", "enum": list(WHY_GIVEN_UP)})]


class Served(Schema):
    """The jobs that a parcel changed something for."""

    jobs: list[int]


def _order_out(order: Order, late_days: int = 0, frees: list[int] | None = None) -> dict[str, Any]:
    return {
        "number": order.pk,
        "supplier": order.supplier.name,
        "expected_on": order.expected_on,
        "late_days": late_days,
        "closed": order.closed_at is not None,
        "lines": list(order.lines.all()),
        "frees": frees or [],
    }


@router.get("backlog/orders/", response=list[OrderOut])
def orders(request: HttpRequest) -> list[dict[str, Any]]:
    """List the open orders, late ones first, with the jobs that each parcel frees."""
    person(request)
    return [
        _order_out(parcel.order, parcel.late_days, [job.number for job in parcel.frees])
        for parcel in backlog.open_parcels(timezone.now())
    ]


def _order_now(replay: Replay) -> dict[str, Any]:
    return _order_out(Order.objects.select_related("supplier").get(pk=replay.kept))


@router.post("backlog/orders/", response={201: OrderOut, **schemas.REFUSALS})
@once(kept=lambda order: order["number"], again=_order_now)
def place(request: HttpRequest, payload: OrderIn) -> Status[dict[str, Any]]:
    """Note an order; every need on it counts as ordered."""
    caller = person(request, "order")
    supplier = Supplier.objects.filter(pk=payload.supplier).first()
    if supplier is None:
        raise bad(
            "supplier",
            gettext("supplier is {supplier}; there is none of that number.").format(
                supplier=payload.supplier
            ),
        )
    order = ordering.place(
        supplier,
        [_wanted(line) for line in payload.lines],
        by=caller,
        at=timezone.now(),
        reference=payload.reference,
        expected_on=payload.expected_on,
    )
    return Status(201, _order_out(order))


def _wanted(line: LineIn) -> LineToOrder:
    part = Part.objects.filter(pk=line.part).first()
    if part is None:
        raise bad(
            "part",
            gettext("part is {part}; there is no part of that number.").format(part=line.part),
        )
    needs = tuple(((need.job, need.need), need.quantity) for need in line.needs)
    if sum(quantity for _, quantity in needs) > line.quantity:
        raise bad(
            "quantity",
            gettext("quantity is {quantity}; the needs on the line ask for more.").format(
                quantity=line.quantity
            ),
        )
    return LineToOrder(part, line.quantity, line.price, needs)


# Which jobs a parcel served is what happened, and stays.
_once = once(again=lambda replay: replay.kept)


@router.post("backlog/orders/{int:number}/arrived/", response={200: Served, **schemas.REFUSALS})
@_once
def arrived(request: HttpRequest, number: int, payload: ParcelIn) -> dict[str, Any]:
    """Take in what a parcel holds; pieces go to the needs that ordered them, oldest first."""
    caller = person(request, "order")
    jobs = ordering.arrive(
        _known(number), payload.lines, by=caller, at=timezone.now(), place=payload.bin
    )
    return {"jobs": jobs}


@router.post("backlog/orders/{int:number}/given-up/", response={200: Served, **schemas.REFUSALS})
@_once
def given_up(request: HttpRequest, number: int, payload: GivenUpIn) -> dict[str, Any]:
    """Stop waiting for pieces: lost, wrong or cancelled. Their needs are to be ordered again."""
    caller = person(request, "order")
    if payload.why not in WHY_GIVEN_UP:
        wanted = ", ".join(WHY_GIVEN_UP)
        raise bad(
            "why",
            gettext("why is {why}; it must be one of {wanted}.").format(
                why=quoted(payload.why), wanted=wanted
            ),
        )
    at = timezone.now()
    jobs = ordering.give_up(_known(number), payload.lines, why=payload.why, by=caller, at=at)
    return {"jobs": jobs}


def _known(number: int) -> int:
    if not Order.objects.filter(pk=number).exists():
        raise Http404(f"There is no order {number}.")
    return number


class ActionOut(Schema):
    """One thing that hands can do now."""

    what: str
    job: int | None = Field(validation_alias="job_number")
    minutes: int
    why: list[str]


class NextUpOut(Schema):
    """What takes a few minutes, and what takes the bench."""

    quick: list[ActionOut]
    bench: list[ActionOut]


@router.get("backlog/next/", response=NextUpOut)
def whats_next(request: HttpRequest) -> next_actions.NextActions:
    """Say what hands can do now, in order, with the reason for the place."""
    person(request)
    return next_actions.next_actions(timezone.now())


FirstAndLast = Annotated[list[date], Field(min_length=2, max_length=2)]


class FinishOut(Schema):
    """When a job will be done: words always, days when history is enough."""

    words: str
    likely: date | None
    half: FirstAndLast | None
    most: FirstAndLast | None
    basis: str


@router.get("jobs/{int:number}/finish/", response={200: FinishOut, 404: schemas.Reason})
def finish(request: HttpRequest, number: int) -> FinishForecast:
    """Say when a job will be done: half of such jobs end in `half`, 85 of 100 in `most`."""
    _, job, now = on_job(request, number)
    return Forecaster(now, [job]).finish(job)
