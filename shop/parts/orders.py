"""Orders and their parcels: placed, partly here, all here, or given up.

Runs inside the caller's transaction. Whoever locks jobs locks them before calling; an order is
locked before its lines, lines before stock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db.models import F, Q
from django.utils.translation import gettext as _

from shop.lib import text
from shop.lib.refusals import refuse
from shop.parts import stock
from shop.parts.models import Allocation, Order, OrderLine, Part, Supplier

Need = tuple[int, int]  # job number, ledger sequence of the need


@dataclass(frozen=True, slots=True)
class LineToOrder:
    """A line to order: a part, how many, at which price, and for which needs how many."""

    part: Part
    quantity: int
    price: Decimal
    needs: tuple[tuple[Need, int], ...] = ()


def place(
    supplier: Supplier,
    wanted: Sequence[LineToOrder],
    *,
    by: User,
    at: datetime,
    expected_on: date | None = None,
    reference: str = "",
) -> Order:
    """Write an order and what it is for; Refused when a need is on another order already."""
    order = Order.objects.create(
        supplier=supplier,
        reference=text.take("reference", reference, 120),
        placed_at=at,
        placed_by=by,
        expected_on=expected_on or _expected(supplier, wanted, at),
    )
    for requested in wanted:
        order_line = OrderLine.objects.create(
            order=order, part=requested.part, quantity=requested.quantity, price=requested.price
        )
        for (job, need), quantity in requested.needs:
            _allocate(order_line, job, need, quantity)
    return order


def _expected(supplier: Supplier, wanted: Sequence[LineToOrder], at: datetime) -> date:
    offers = supplier.offers.filter(part__in=[line.part for line in wanted])
    days = [offer.delivery_days for offer in offers.select_related("supplier")]
    return (at + timedelta(days=max(days, default=supplier.usual_days))).date()


def _allocate(line: OrderLine, job: int, need: int, quantity: int) -> None:
    existing = allocation_of(job, need)
    if existing is not None:
        raise refuse(
            "on-order",
            _("Need {need} of job {job} is on order {order_id} already.").format(
                need=need, job=job, order_id=existing.line.order_id
            ),
        )
    Allocation.objects.create(line=line, job=job, need=need, quantity=quantity)


def allocation_of(job: int, need: int) -> Allocation | None:
    """Return the order line that a need waits for, if it is on any."""
    allocations = Allocation.objects.filter(job=job, need=need, dropped_at=None)
    return allocations.select_related("line__order", "line__part").first()


def lock(order_id: int) -> Order:
    """Lock an order and return it."""
    return Order.objects.select_for_update().select_related("supplier").get(pk=order_id)


def receive_for_need(
    job: int, need: int, quantity: int, actor: stock.StockActor, place: str = ""
) -> int:
    """Take in pieces that a need has on order and keep them for it; returns how many were taken.

    0 when the need is on no order: then the part came from somewhere else.
    """
    allocation = allocation_of(job, need)
    if allocation is None or not allocation.to_come:
        return 0
    order = lock(allocation.line.order_id)
    allocation = Allocation.objects.select_related("line__part").get(pk=allocation.pk)
    received = min(quantity, allocation.to_come, allocation.line.to_come)
    if received < 1:
        return 0
    _arrive(order, allocation.line, received, actor.at)
    Allocation.objects.filter(pk=allocation.pk).update(arrived=F("arrived") + received)
    target_bin = stock.get_or_create_bin(place)
    in_bin = stock.put_in(
        allocation.line.part, target_bin, received, "arrived", actor, f"order {order.pk}"
    )
    stock.reserve_from(in_bin, received, actor)
    return received


def receive_unallocated(
    line_id: int, quantity: int, actor: stock.StockActor, place: str = ""
) -> None:
    """Take in pieces of a line that nobody waits for; they lie free in the bin."""
    line = OrderLine.objects.select_related("part").get(pk=line_id)
    order = lock(line.order_id)
    line = OrderLine.objects.select_related("part").get(pk=line_id)
    if not 1 <= quantity <= line.to_come:
        raise refuse(
            "too-many",
            _("{line}: {to_come} are still to come, not {quantity}.").format(
                line=line, to_come=line.to_come, quantity=quantity
            ),
        )
    _arrive(order, line, quantity, actor.at)
    stock.put_in(
        line.part, stock.get_or_create_bin(place), quantity, "arrived", actor, f"order {order.pk}"
    )


def give_up(line_id: int, quantity: int, at: datetime) -> list[Need]:
    """Stop waiting for pieces of a line: lost, wrong, cancelled.

    Returns the needs that wait for nothing now, newest first, because the oldest keep their
    place.
    """
    line = OrderLine.objects.get(pk=line_id)
    order = lock(line.order_id)
    line.refresh_from_db()
    if not 1 <= quantity <= line.to_come:
        raise refuse(
            "too-many",
            _("{line}: {to_come} are still to come, not {quantity}.").format(
                line=line, to_come=line.to_come, quantity=quantity
            ),
        )
    line.given_up += quantity
    line.save(update_fields=["given_up"])
    stranded = _drop_newest_allocations(line, at)
    _close_if_done(order, at)
    return stranded


def _drop_newest_allocations(line: OrderLine, at: datetime) -> list[Need]:
    """Drop the newest allocations until the line can serve those that are left."""
    allocations = [
        allocation
        for allocation in line.allocations.filter(dropped_at=None).order_by("-pk")
        if allocation.to_come
    ]
    waiting = sum(allocation.to_come for allocation in allocations)
    dropped: list[Need] = []
    for allocation in allocations:
        if waiting <= line.to_come:
            break
        waiting -= allocation.to_come
        allocation.dropped_at = at
        allocation.save(update_fields=["dropped_at"])
        dropped.append((allocation.job, allocation.need))
    return dropped


def drop_allocations(job: int, at: datetime, need: int | None = None) -> None:
    """Let a job, or one need of it, wait for its orders no longer; what comes is free stock."""
    allocations = Allocation.objects.filter(job=job, dropped_at=None)
    if need is not None:
        allocations = allocations.filter(need=need)
    allocations.update(dropped_at=at)


def _arrive(order: Order, line: OrderLine, quantity: int, at: datetime) -> None:
    line.arrived += quantity
    line.save(update_fields=["arrived"])
    if order.first_arrival_at is None:
        order.first_arrival_at = at
        order.save(update_fields=["first_arrival_at"])
    _close_if_done(order, at)


def _close_if_done(order: Order, at: datetime) -> None:
    open_lines = order.lines.filter(quantity__gt=F("arrived") + F("given_up"))
    if order.closed_at is None and not open_lines.exists():
        order.closed_at = at
        order.save(update_fields=["closed_at"])


def overdue(today: date) -> Q:
    """Return the condition for orders that should have come before today."""
    return Q(closed_at__isnull=True, expected_on__lt=today)
