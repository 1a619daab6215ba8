from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction
from django.db.models import F, Sum
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from shop.lib.refusals import BadInput, Refused
from shop.parts import stock
from shop.parts.models import Movement, Reservation, Stock
from tests.factories import PartFactory, PersonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def actor():
    return stock.StockActor(PersonFactory(username="bea"), timezone.now())


def for_need(actor, job=1, need=1):
    return stock.StockActor(actor.by, actor.at, job, need)


def test_what_is_put_in_lies_there_with_a_movement(actor):
    part = PartFactory()
    stock.put_in(part, stock.get_or_create_bin("A 3"), 5, "bought", actor, "from the fair")
    row = Stock.objects.get()
    assert (row.on_hand, row.free, str(row.bin)) == (5, 5, "A 3")
    moved = Movement.objects.get()
    assert (moved.change, moved.balance, moved.why, moved.note) == (5, 5, "bought", "from the fair")


def test_no_more_can_be_taken_out_than_is_free(actor):
    part = PartFactory()
    row = stock.put_in(part, stock.get_or_create_bin("A"), 3, "bought", actor)
    stock.reserve(part, 2, for_need(actor))
    with pytest.raises(Refused, match="1 are free, 2 were asked for"):
        stock.take_out(row.pk, 2, "scrapped", actor)
    stock.take_out(row.pk, 1, "scrapped", actor)
    assert Stock.objects.get().on_hand == 2


def test_a_promise_is_served_from_several_bins_and_fitting_empties_them(actor):
    part = PartFactory()
    for name, pieces in (("A", 2), ("B", 3)):
        stock.put_in(part, stock.get_or_create_bin(name), pieces, "bought", actor)
    stock.reserve(part, 4, for_need(actor))
    assert stock.free_by_part([part.pk]) == {part.pk: 1}
    assert stock.fit(for_need(actor)) == 4
    assert Stock.objects.aggregate(n=Sum("on_hand"))["n"] == 1
    assert not Reservation.objects.filter(ended_at=None).exists()
    assert {m.why for m in Movement.objects.filter(change__lt=0)} == {"fitted"}


def test_a_promise_taken_back_leaves_the_pieces(actor):
    part = PartFactory()
    stock.put_in(part, stock.get_or_create_bin("A"), 2, "bought", actor)
    stock.reserve(part, 2, for_need(actor))
    assert stock.release(stock.StockActor(actor.by, actor.at, 1)) == 2
    assert stock.free_by_part([part.pk]) == {part.pk: 2}


def test_more_than_lies_there_is_not_reserved(actor):
    part = PartFactory()
    stock.put_in(part, stock.get_or_create_bin("A"), 2, "bought", actor)
    with pytest.raises(Refused, match="2 are free, 3 were asked for"):
        stock.reserve(part, 3, for_need(actor))
    assert not Reservation.objects.exists()


def test_a_count_below_what_is_reserved_is_refused(actor):
    part = PartFactory()
    row = stock.put_in(part, stock.get_or_create_bin("A"), 5, "bought", actor)
    stock.reserve(part, 3, for_need(actor))
    with pytest.raises(Refused, match="3 are reserved"):
        stock.count(row.pk, 2, actor)
    assert stock.count(row.pk, 3, actor).free == 0
    assert stock.count(row.pk, 3, actor).on_hand == 3  # counted again, nothing moves
    assert Movement.objects.filter(why="counted").count() == 1


@pytest.mark.parametrize("quantity", [0, -1, 1_000_001])
def test_a_quantity_that_makes_no_sense_is_a_sentence(actor, quantity):
    with pytest.raises(BadInput, match="quantity is"):
        stock.put_in(PartFactory(), stock.get_or_create_bin("A"), quantity, "bought", actor)
    with pytest.raises(BadInput, match="counted is"):
        stock.count(1, -1, actor)


@pytest.mark.parametrize(
    "change",
    [{"on_hand": F("reserved") - 1}, {"reserved": F("on_hand") + 1}],
)
def test_the_database_refuses_what_the_code_might_forget(actor, change):
    part = PartFactory()
    stock.put_in(part, stock.get_or_create_bin("A"), 2, "bought", actor)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stock.objects.update(**change)


def test_movements_can_neither_be_changed_nor_deleted(actor):
    stock.put_in(PartFactory(), stock.get_or_create_bin("A"), 2, "bought", actor)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.update(change=7)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.all().delete()


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["put", "out", "reserve", "fit", "release", "back", "count"]),
        st.integers(1, 5),
        st.integers(1, 3),
        st.sampled_from(["A", "B"]),
    ),
    max_size=25,
)


@given(ACTS)
def test_whatever_happens_the_bins_add_up(acts):
    with transaction.atomic():
        _run(acts)
        transaction.set_rollback(True)


def _run(acts):
    part, by = PartFactory(), PersonFactory(username="bea")
    for act, quantity, need, name in acts:
        try:
            _do(
                act,
                part,
                quantity,
                stock.get_or_create_bin(name),
                stock.StockActor(by, timezone.now(), 1, need),
            )
        except Refused:
            continue
    for row in Stock.objects.filter(part=part):
        moved = Movement.objects.filter(stock=row).aggregate(n=Sum("change"))["n"] or 0
        reserved = Reservation.objects.filter(stock=row, ended_at=None).aggregate(
            n=Sum("quantity")
        )["n"]
        assert row.on_hand == moved >= 0
        assert row.reserved == (reserved or 0) <= row.on_hand


def _do(act, part, quantity, place, actor):
    row, _ = Stock.objects.get_or_create(part=part, bin=place)
    actions = {
        "put": lambda: stock.put_in(part, place, quantity, "bought", actor),
        "out": lambda: stock.take_out(row.pk, quantity, "scrapped", actor),
        "reserve": lambda: stock.reserve(part, quantity, actor),
        "fit": lambda: stock.fit(actor),
        "release": lambda: stock.release(actor),
        "back": lambda: stock.send_back(actor),
        "count": lambda: stock.count(row.pk, quantity, actor),
    }
    actions[act]()
