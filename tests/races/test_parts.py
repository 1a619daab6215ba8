"""Concurrent draws on stock and parcels: never negative, no piece reserved twice, no deadlock."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from shop.jobs.models import JobPart
from shop.lib.refusals import Refused
from shop.parts import stock
from shop.parts.models import Movement, Reservation, Stock
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from tests.factories import PartFactory, PersonFactory, SupplierFactory
from tests.helpers import Bench, amplifier
from tests.races.test_races import together, unexpected

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bench():
    return Bench(PersonFactory(username="bea", role="technician"))


def needing(bench, *parts):
    number = bench.receive(facts=amplifier())
    for part in parts:
        bench.record(number, "part_needed", spec=part.spec, part=part.pk)
    return number, [p.need for p in JobPart.objects.filter(job=number).order_by("need")]


def assert_bins_add_up():
    for row in Stock.objects.all():
        moved = Movement.objects.filter(stock=row).aggregate(n=Sum("change"))["n"] or 0
        reserved = Reservation.objects.filter(stock=row, ended_at=None).aggregate(
            n=Sum("quantity")
        )["n"]
        assert row.on_hand == moved >= 0
        assert row.reserved == (reserved or 0) <= row.on_hand


def test_the_last_pieces_are_reserved_once(bench):
    part = PartFactory()
    with transaction.atomic():
        for name in ("A", "B"):
            actor = stock.StockActor(bench.by, timezone.now())
            stock.put_in(part, stock.get_or_create_bin(name), 2, "bought", actor)
    jobs = [needing(bench, part) for _ in range(8)]

    results = together(
        *(
            lambda job=job, need=needs[0]: bench.record(
                job, "part_arrived", need=need, from_stock=True
            )
            for job, needs in jobs
        )
    )

    assert unexpected(results) == []
    assert sum(isinstance(r, Refused) for r in results) == 4
    assert Stock.objects.aggregate(n=Sum("reserved"))["n"] == 4
    assert JobPart.objects.filter(outstanding=True).count() == 4
    assert_bins_add_up()


def test_draws_counts_and_promises_at_once_leave_the_bins_adding_up(bench):
    part = PartFactory()
    actor = stock.StockActor(bench.by, timezone.now())
    with transaction.atomic():
        row = stock.put_in(part, stock.get_or_create_bin("A"), 6, "bought", actor)

    def inside(act):
        def run():
            with transaction.atomic():
                return act()

        return run

    for _ in range(6):
        need = stock.StockActor(bench.by, timezone.now(), 1, 1)
        results = together(
            inside(lambda: stock.take_out(row.pk, 2, "scrapped", actor)),
            inside(lambda need=need: stock.reserve(part, 2, need)),
            inside(lambda: stock.put_in(part, stock.get_or_create_bin("A"), 3, "bought", actor)),
            inside(lambda: stock.count(row.pk, 4, actor)),
            inside(lambda need=need: stock.fit(need)),
            inside(lambda: stock.take_out(row.pk, 3, "scrapped", actor)),
        )
        assert unexpected(results) == []
        assert_bins_add_up()


def test_one_need_on_two_orders_at_once_goes_on_one(bench):
    part = PartFactory()
    for _ in range(5):
        number, [need] = needing(bench, part)
        suppliers = [SupplierFactory() for _ in range(3)]
        line = LineToOrder(part, 1, Decimal(1), (((number, need), 1),))
        results = together(
            *(
                lambda s=supplier, row=line: ordering.place(
                    s, [row], by=bench.by, at=timezone.now()
                )
                for supplier in suppliers
            )
        )
        assert unexpected(results) == []
        assert sum(not isinstance(r, Exception) for r in results) == 1
        assert bench.kinds(number).count("part_ordered") == 1


def test_two_parcels_with_the_same_parts_and_jobs_do_not_lock_each_other_out(bench):
    first, second = PartFactory(), PartFactory()
    for _ in range(5):
        jobs = [needing(bench, first, second) for _ in range(3)]
        made = []
        for place, parts in enumerate([(first, second), (second, first)]):
            lines = [
                LineToOrder(
                    part,
                    3,
                    Decimal(1),
                    tuple(
                        ((job, needs[0 if part is first else 1]), 1)
                        for job, needs in (jobs if place else reversed(jobs))
                        if (part is first) == (place == 0)
                    ),
                )
                for part in parts
            ]
            at = timezone.now()
            made.append(ordering.place(SupplierFactory(), lines, by=bench.by, at=at))
        counts = [{line.pk: 3 for line in order.lines.all()} for order in made]
        by_hand = jobs[1]

        results = together(
            lambda c=counts, m=made: ordering.arrive(m[0].pk, c[0], by=bench.by, at=timezone.now()),
            lambda c=counts, m=made: ordering.arrive(m[1].pk, c[1], by=bench.by, at=timezone.now()),
            lambda j=by_hand: bench.record(j[0], "part_arrived", need=j[1][0]),
            lambda j=by_hand: bench.record(j[0], "note_added", text="meanwhile"),
        )

        assert unexpected(results) == []
        assert_bins_add_up()
        for number, _ in jobs:
            assert bench.kinds(number).count("part_arrived") <= 2


def test_the_same_parcel_unpacked_by_two_people_arrives_once(bench):
    part = PartFactory()
    number, [need] = needing(bench, part)
    line = LineToOrder(part, 1, Decimal(1), (((number, need), 1),))
    made = ordering.place(SupplierFactory(), [line], by=bench.by, at=timezone.now())
    counts = {made.lines.get().pk: 1}
    results = together(
        *(
            lambda: ordering.arrive(made.pk, counts, by=bench.by, at=timezone.now())
            for _ in range(4)
        )
    )
    assert unexpected(results) == []
    assert sum(not isinstance(r, Exception) for r in results) == 1
    assert Stock.objects.get().on_hand == 1
    assert bench.kinds(number).count("part_arrived") == 1


def test_parcels_ticked_by_two_are_taken_in_once(bench):
    part, orders = PartFactory(), []
    for name in ("North", "South"):
        job, (need,) = needing(bench, part)
        lines = [LineToOrder(part, 2, Decimal(1), (((job, need), 1),))]
        orders.append(
            ordering.place(SupplierFactory(name=name), lines, by=bench.by, at=timezone.now())
        )
    seen = {order.pk: 2 for order in orders}

    def ticked():
        return ordering.arrive_whole(seen, by=bench.by, at=timezone.now(), place="A 1")

    def one_by_itself():
        order = orders[1]
        line = order.lines.get()
        return ordering.arrive(order.pk, {line.pk: 2}, by=bench.by, at=timezone.now())

    results = together(ticked, ticked, one_by_itself)

    assert unexpected(results) == []
    assert sum(isinstance(r, Refused) for r in results) in (1, 2)
    assert all(row.to_come in (0, 2) for order in orders for row in order.lines.all())
    assert Stock.objects.aggregate(n=Sum("on_hand"))["n"] in (2, 4)
    assert_bins_add_up()
