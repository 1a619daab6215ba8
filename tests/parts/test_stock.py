from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction
from django.db.models import F, Sum
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from shop.lib.refusals import BadInput, Refused
from shop.parts import stock
from shop.parts.models import Movement, Promise, Stock
from tests.factories import PartFactory, PersonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def hand():
    return stock.Hand(PersonFactory(username="bea"), timezone.now())


def for_need(hand, job=1, need=1):
    return stock.Hand(hand.by, hand.at, job, need)


def test_what_is_put_in_lies_there_with_a_movement(hand):
    part = PartFactory()
    stock.put_in(part, stock.bin_named("A 3"), 5, "bought", hand, "from the fair")
    lying = Stock.objects.get()
    assert (lying.on_hand, lying.free, str(lying.bin)) == (5, 5, "A 3")
    moved = Movement.objects.get()
    assert (moved.change, moved.balance, moved.why, moved.note) == (5, 5, "bought", "from the fair")


def test_no_more_can_be_taken_out_than_is_free(hand):
    part = PartFactory()
    lying = stock.put_in(part, stock.bin_named("A"), 3, "bought", hand)
    stock.promise(part, 2, for_need(hand))
    with pytest.raises(Refused, match="1 are free, 2 were asked for"):
        stock.take_out(lying.pk, 2, "scrapped", hand)
    stock.take_out(lying.pk, 1, "scrapped", hand)
    assert Stock.objects.get().on_hand == 2


def test_a_promise_is_served_from_several_bins_and_fitting_empties_them(hand):
    part = PartFactory()
    for name, pieces in (("A", 2), ("B", 3)):
        stock.put_in(part, stock.bin_named(name), pieces, "bought", hand)
    stock.promise(part, 4, for_need(hand))
    assert stock.free_of([part.pk]) == {part.pk: 1}
    assert stock.fit(for_need(hand)) == 4
    assert Stock.objects.aggregate(n=Sum("on_hand"))["n"] == 1
    assert not Promise.objects.filter(ended_at=None).exists()
    assert {m.why for m in Movement.objects.filter(change__lt=0)} == {"fitted"}


def test_a_promise_taken_back_leaves_the_pieces(hand):
    part = PartFactory()
    stock.put_in(part, stock.bin_named("A"), 2, "bought", hand)
    stock.promise(part, 2, for_need(hand))
    assert stock.release(stock.Hand(hand.by, hand.at, 1)) == 2
    assert stock.free_of([part.pk]) == {part.pk: 2}


def test_more_than_lies_there_is_not_promised(hand):
    part = PartFactory()
    stock.put_in(part, stock.bin_named("A"), 2, "bought", hand)
    with pytest.raises(Refused, match="2 are free, 3 were asked for"):
        stock.promise(part, 3, for_need(hand))
    assert not Promise.objects.exists()


def test_a_count_below_what_is_promised_is_refused(hand):
    part = PartFactory()
    lying = stock.put_in(part, stock.bin_named("A"), 5, "bought", hand)
    stock.promise(part, 3, for_need(hand))
    with pytest.raises(Refused, match="3 are promised"):
        stock.count(lying.pk, 2, hand)
    assert stock.count(lying.pk, 3, hand).free == 0
    assert stock.count(lying.pk, 3, hand).on_hand == 3  # counted again, nothing moves
    assert Movement.objects.filter(why="counted").count() == 1


@pytest.mark.parametrize("quantity", [0, -1, 1_000_001])
def test_a_quantity_that_makes_no_sense_is_a_sentence(hand, quantity):
    with pytest.raises(BadInput, match="quantity is"):
        stock.put_in(PartFactory(), stock.bin_named("A"), quantity, "bought", hand)
    with pytest.raises(BadInput, match="counted is"):
        stock.count(1, -1, hand)


@pytest.mark.parametrize(
    "change",
    [{"on_hand": F("promised") - 1}, {"promised": F("on_hand") + 1}],
)
def test_the_database_refuses_what_the_code_might_forget(hand, change):
    part = PartFactory()
    stock.put_in(part, stock.bin_named("A"), 2, "bought", hand)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stock.objects.update(**change)


def test_movements_can_neither_be_changed_nor_deleted(hand):
    stock.put_in(PartFactory(), stock.bin_named("A"), 2, "bought", hand)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.update(change=7)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.all().delete()


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["put", "out", "promise", "fit", "release", "back", "count"]),
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
            _do(act, part, quantity, stock.bin_named(name), stock.Hand(by, timezone.now(), 1, need))
        except Refused:
            continue
    for lying in Stock.objects.filter(part=part):
        moved = Movement.objects.filter(stock=lying).aggregate(n=Sum("change"))["n"] or 0
        kept = Promise.objects.filter(stock=lying, ended_at=None).aggregate(n=Sum("quantity"))["n"]
        assert lying.on_hand == moved >= 0
        assert lying.promised == (kept or 0) <= lying.on_hand


def _do(act, part, quantity, place, hand):
    lying, _ = Stock.objects.get_or_create(part=part, bin=place)
    doors = {
        "put": lambda: stock.put_in(part, place, quantity, "bought", hand),
        "out": lambda: stock.take_out(lying.pk, quantity, "scrapped", hand),
        "promise": lambda: stock.promise(part, quantity, hand),
        "fit": lambda: stock.fit(hand),
        "release": lambda: stock.release(hand),
        "back": lambda: stock.send_back(hand),
        "count": lambda: stock.count(lying.pk, quantity, hand),
    }
    doors[act]()
