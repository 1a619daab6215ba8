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

from shop.lib import text
from shop.lib.refusals import refuse
from shop.parts import stock
from shop.parts.models import Claim, Order, OrderLine, Part, Supplier

Need = tuple[int, int]  # job number, ledger sequence of the need


@dataclass(frozen=True, slots=True)
class Wanted:
    """A line to order: a part, how many, at which price, and for which needs how many."""

    part: Part
    quantity: int
    price: Decimal
    needs: tuple[tuple[Need, int], ...] = ()


def place(
    supplier: Supplier,
    wanted: Sequence[Wanted],
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
    for line in wanted:
        made = OrderLine.objects.create(
            order=order, part=line.part, quantity=line.quantity, price=line.price
        )
        for (job, need), quantity in line.needs:
            _claim(made, job, need, quantity)
    return order


def _expected(supplier: Supplier, wanted: Sequence[Wanted], at: datetime) -> date:
    offers = supplier.offers.filter(part__in=[line.part for line in wanted])
    days = [offer.delivery_days for offer in offers.select_related("supplier")]
    return (at + timedelta(days=max(days, default=supplier.usual_days))).date()


def _claim(line: OrderLine, job: int, need: int, quantity: int) -> None:
    on_its_way = claim_of(job, need)
    if on_its_way is not None:
        raise refuse(
            "on-order",
            f"Need {need} of job {job} is on order {on_its_way.line.order_id} already.",
        )
    Claim.objects.create(line=line, job=job, need=need, quantity=quantity)


def claim_of(job: int, need: int) -> Claim | None:
    """Return the order line that a need waits for, if it is on any."""
    live = Claim.objects.filter(job=job, need=need, dropped_at=None)
    return live.select_related("line__order", "line__part").first()


def lock(order_id: int) -> Order:
    """Lock an order and return it."""
    return Order.objects.select_for_update().select_related("supplier").get(pk=order_id)


def take_in_for(job: int, need: int, quantity: int, hand: stock.Hand, place: str = "") -> int:
    """Take in pieces that a need has on order and keep them for it; returns how many were taken.

    0 when the need is on no order: then the part came from somewhere else.
    """
    claim = claim_of(job, need)
    if claim is None or not claim.to_come:
        return 0
    order = lock(claim.line.order_id)
    claim = Claim.objects.select_related("line__part").get(pk=claim.pk)
    taken = min(quantity, claim.to_come, claim.line.to_come)
    if taken < 1:
        return 0
    _arrive(order, claim.line, taken, hand.at)
    Claim.objects.filter(pk=claim.pk).update(arrived=F("arrived") + taken)
    here = stock.bin_named(place)
    lying = stock.put_in(claim.line.part, here, taken, "arrived", hand, f"order {order.pk}")
    stock.promise_from(lying, taken, hand)
    return taken


def take_in(line_id: int, quantity: int, hand: stock.Hand, place: str = "") -> None:
    """Take in pieces of a line that nobody waits for; they lie free in the bin."""
    line = OrderLine.objects.select_related("part").get(pk=line_id)
    order = lock(line.order_id)
    line = OrderLine.objects.select_related("part").get(pk=line_id)
    if not 1 <= quantity <= line.to_come:
        raise refuse("too-many", f"{line}: {line.to_come} are still to come, not {quantity}.")
    _arrive(order, line, quantity, hand.at)
    stock.put_in(line.part, stock.bin_named(place), quantity, "arrived", hand, f"order {order.pk}")


def give_up(line_id: int, quantity: int, at: datetime) -> list[Need]:
    """Stop waiting for pieces of a line: lost, wrong, cancelled.

    Returns the needs that wait for nothing now, newest first, because the oldest keep their
    place.
    """
    line = OrderLine.objects.get(pk=line_id)
    order = lock(line.order_id)
    line.refresh_from_db()
    if not 1 <= quantity <= line.to_come:
        raise refuse("too-many", f"{line}: {line.to_come} are still to come, not {quantity}.")
    line.given_up += quantity
    line.save(update_fields=["given_up"])
    orphans = _drop_beyond(line, at)
    _close_if_done(order, at)
    return orphans


def _drop_beyond(line: OrderLine, at: datetime) -> list[Need]:
    """Drop the newest claims until the line can serve those that are left."""
    live = [c for c in line.claims.filter(dropped_at=None).order_by("-pk") if c.to_come]
    waiting = sum(claim.to_come for claim in live)
    dropped: list[Need] = []
    for claim in live:
        if waiting <= line.to_come:
            break
        waiting -= claim.to_come
        claim.dropped_at = at
        claim.save(update_fields=["dropped_at"])
        dropped.append((claim.job, claim.need))
    return dropped


def drop(job: int, at: datetime, need: int | None = None) -> None:
    """Let a job, or one need of it, wait for its orders no longer; what comes is free stock."""
    live = Claim.objects.filter(job=job, dropped_at=None)
    if need is not None:
        live = live.filter(need=need)
    live.update(dropped_at=at)


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
