"""Orders across jobs: placed, arrived, given up; the ledger of every job follows.

One transaction each. Jobs are locked first, in the order of their numbers, then the order, its
lines, and stock: two people at two parcels wait for each other and never lock each other out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext

from shop.accounts import roles
from shop.jobs import commands
from shop.jobs.models import Job, JobPart
from shop.lib.refusals import BadInput, bad, refuse
from shop.parts import orders, stock
from shop.parts.models import Allocation, Order, OrderLine, Supplier
from shop.parts.orders import LineToOrder


def place(
    supplier: Supplier,
    wanted: Sequence[LineToOrder],
    *,
    by: User,
    at: datetime,
    reference: str = "",
    expected_on: date | None = None,
) -> Order:
    """Place one order and write it into the ledger of every job it is for.

    Refused when a need is on order or here already; nothing is written then.
    """
    roles.require(by, "order")
    if not wanted:
        raise bad("lines", gettext("The order is empty; choose at least one part."))
    needs = [need for line in wanted for need, _ in line.needs]
    with transaction.atomic():
        lock_jobs(job for job, _ in needs)
        _require_open(needs)
        order = orders.place(
            supplier, wanted, by=by, at=at, reference=reference, expected_on=expected_on
        )
        for job, need in needs:
            commands.record(job, "part_ordered", {"need": need, "order": order.pk}, by=by, at=at)
    return order


def _require_open(needs: Sequence[tuple[int, int]]) -> None:
    for job, need in needs:
        part = JobPart.objects.filter(job=job, need=need, outstanding=True).first()
        if part is None:
            raise refuse(
                "not-needed",
                gettext("Need {need} of job {job} is not outstanding any more.").format(
                    need=need, job=job
                ),
            )


def arrive(
    order_id: int, counts: Mapping[int, int], *, by: User, at: datetime, place: str = ""
) -> list[int]:
    """Take in what a parcel holds, pieces by order line; returns the jobs that got something.

    Pieces go to the needs that ordered them, oldest first; the rest lies free in the bin.
    """
    roles.require(by, "order")
    lines = _lines_of(order_id, counts)
    served: list[int] = []
    with transaction.atomic():
        lock_jobs(allocation.job for line in lines for allocation in _waiting(line))
        for line in lines:
            served += _hand_out(line, counts[line.pk], by, at, place)
    return sorted(set(served))


def arrive_whole(seen: Mapping[int, int], *, by: User, at: datetime, place: str = "") -> list[int]:
    """Take in whole parcels, all or none; returns the jobs that got something.

    `seen` is, by order, how many pieces were still to come when somebody looked. Refused when
    another number is to come by now: somebody else unpacked it.
    """
    roles.require(by, "order")
    if not seen:
        raise bad("parcel", gettext("No parcel is ticked; tick those that arrived as ordered."))
    with transaction.atomic():
        lock_jobs(allocation.job for line in _to_come(seen) for allocation in _waiting(line))
        # All orders before any stock: whoever is at one of them waits, and holds nothing of ours.
        list(Order.objects.select_for_update().filter(pk__in=seen).order_by("pk"))
        lines = _to_come(seen)
        _require_as_seen(seen, lines)
        served = [job for line in lines for job in _hand_out(line, line.to_come, by, at, place)]
    return sorted(set(served))


def _to_come(orders_: Iterable[int]) -> list[OrderLine]:
    """Return the lines of orders of which pieces are to come, by part."""
    lines = OrderLine.objects.filter(order__in=list(orders_)).order_by("part_id", "pk")
    return [line for line in lines if line.to_come]


def _require_as_seen(seen: Mapping[int, int], lines: Sequence[OrderLine]) -> None:
    to_come = Counter[int]()
    for line in lines:
        to_come[line.order_id] += line.to_come
    for order, pieces in seen.items():
        if to_come[order] != pieces or not pieces:
            raise refuse(
                "stale",
                gettext(
                    "Order {order}: {to_come} pieces are to come by now, not {pieces}. Nothing "
                    "was taken in; look at the page again."
                ).format(order=order, to_come=to_come[order], pieces=pieces),
            )


def _hand_out(line: OrderLine, quantity: int, by: User, at: datetime, place: str) -> list[int]:
    line.refresh_from_db()
    if quantity > line.to_come:
        raise refuse(
            "too-many",
            gettext("{line}: {to_come} are still to come, not {quantity}.").format(
                line=line, to_come=line.to_come, quantity=quantity
            ),
        )
    served, remaining = [], quantity
    for allocation in _waiting(line):
        arrived = min(remaining, allocation.to_come)
        if arrived:
            row = {"need": allocation.need, "quantity": arrived, "bin": place}
            commands.record(allocation.job, "part_arrived", row, by=by, at=at)
            served.append(allocation.job)
        remaining -= arrived
    if remaining:
        orders.receive_unallocated(line.pk, remaining, stock.StockActor(by, at), place)
    return served


def give_up(
    order_id: int, counts: Mapping[int, int], *, why: str, by: User, at: datetime
) -> list[int]:
    """Stop waiting for pieces of a parcel (lost, wrong, cancelled); returns the jobs without a part now.

    Their needs count as not ordered again.
    """
    roles.require(by, "order")
    lines = _lines_of(order_id, counts)
    stranded: list[int] = []
    with transaction.atomic():
        lock_jobs(allocation.job for line in lines for allocation in _waiting(line))
        for line in lines:
            for job, need in orders.give_up(line.pk, counts[line.pk], at):
                commands.record(job, "part_lost", {"need": need, "why": why}, by=by, at=at)
                stranded.append(job)
    return sorted(set(stranded))


def _waiting(line: OrderLine) -> list[Allocation]:
    allocations = line.allocations.filter(dropped_at=None).order_by("pk")
    return [allocation for allocation in allocations if allocation.to_come]


def _lines_of(order_id: int, counts: Mapping[int, int]) -> list[OrderLine]:
    """Return the lines that are spoken of, by part: everybody locks stock the same way round."""
    if not Order.objects.filter(pk=order_id).exists():
        raise bad(
            "order",
            gettext("order is {order_id}; there is no order of that number.").format(
                order_id=order_id
            ),
        )
    counted = {line: quantity for line, quantity in counts.items() if quantity}
    lines = list(OrderLine.objects.filter(order=order_id, pk__in=counted).order_by("part_id"))
    problems = [
        (
            "lines",
            gettext("Line {line} is not on order {order_id}.").format(line=line, order_id=order_id),
        )
        for line in counted.keys() - {line.pk for line in lines}
    ]
    problems += [
        (
            "lines",
            gettext("quantity is {quantity}; it must be 1 or more.").format(quantity=quantity),
        )
        for quantity in counted.values()
        if quantity < 0
    ]
    if not counted:
        problems.append(("lines", gettext("All quantities are empty; say how many pieces.")))
    if problems:
        raise BadInput(problems)
    return lines


def lock_jobs(numbers: Iterable[int]) -> None:
    """Lock jobs in the order of their numbers, before anything of theirs is touched."""
    wanted = sorted(set(numbers))
    list(Job.objects.select_for_update().filter(pk__in=wanted).order_by("number"))
