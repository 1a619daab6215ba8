from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from checklists.engine.words import HAND_BACK
from shop.jobs.models import JobPart
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.parts.models import Allocation, Order, Stock
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from tests.factories import PartFactory, SupplierFactory
from tests.helpers import Bench, amplifier

pytestmark = pytest.mark.django_db


@pytest.fixture
def relay():
    return PartFactory(spec="Relay 24 V")


def needing(bench, part, quantity=1, required=True):
    """A job on the shelf that needs so many of a part."""
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    bench.record(
        number, "part_needed", spec=part.spec, part=part.pk, quantity=quantity, required=required
    )
    bench.stage(number, "awaiting_parts")
    return number, JobPart.objects.get(job=number).need


def order(bench, part, needs, quantity=None, supplier=None):
    quantities = [(need, amount) for need, amount in needs]
    total = quantity or sum(amount for _, amount in quantities)
    line = LineToOrder(part, total, Decimal("2.50"), tuple(quantities))
    at = timezone.now()
    return ordering.place(supplier or SupplierFactory(), [line], by=bench.by, at=at)


def arrive(bench, made, quantity):
    [line] = made.lines.all()
    return ordering.arrive(made.pk, {line.pk: quantity}, by=bench.by, at=timezone.now())


def give_up(bench, made, quantity, why="lost"):
    [line] = made.lines.all()
    return ordering.give_up(made.pk, {line.pk: quantity}, why=why, by=bench.by, at=timezone.now())


def test_an_order_is_in_the_ledger_of_every_job_it_is_for(bench, relay):
    first, second = needing(bench, relay), needing(bench, relay, 2)
    made = order(bench, relay, [(first, 1), (second, 2)])
    for (number, _), pieces in ((first, 1), (second, 2)):
        [need] = bench.traveller(number).record.needs
        assert (need.ordered, need.order, need.missing) == (True, made.pk, pieces)
        assert bench.job(number).waiting_on == "parts"


def test_the_last_required_arrival_makes_the_job_ready(bench, relay):
    need = needing(bench, relay)
    made = order(bench, relay, [(need, 1)])
    assert bench.job(need[0]).ready_since is None

    assert arrive(bench, made, 1) == [need[0]]

    job = bench.job(need[0])
    assert (job.waiting_on, job.ready_since is not None) == ("hands", True)
    made.refresh_from_db()
    assert made.closed_at is not None
    bench.stage(need[0], "opened")
    assert bench.job(need[0]).ready_since is None


def test_an_optional_part_still_to_come_does_not_keep_it(bench, relay):
    number, _ = needing(bench, relay, required=False)
    assert bench.job(number).waiting_on == "hands"


def test_a_partial_arrival_goes_to_whoever_ordered_first(bench, relay):
    first, second = needing(bench, relay, 2), needing(bench, relay, 1)
    made = order(bench, relay, [(first, 2), (second, 1)])

    assert arrive(bench, made, 1) == [first[0]]
    assert bench.traveller(first[0]).record.needs[0].missing == 1
    assert bench.job(first[0]).waiting_on == "parts"
    assert arrive(bench, made, 2) == [first[0], second[0]]
    assert bench.job(second[0]).waiting_on == "hands"
    row = Stock.objects.get()
    assert (row.on_hand, row.reserved) == (3, 3)


def test_what_comes_beyond_the_needs_lies_free(bench, relay):
    need = needing(bench, relay)
    made = order(bench, relay, [(need, 1)], quantity=10)
    arrive(bench, made, 10)
    assert Stock.objects.get().free == 9


def test_fitting_takes_the_piece_out_of_the_bin(bench, relay):
    number, sequence = needing(bench, relay)
    made = order(bench, relay, [((number, sequence), 1)])
    arrive(bench, made, 1)
    bench.record(number, "part_fitted", need=sequence)
    assert (Stock.objects.get().on_hand, Stock.objects.get().reserved) == (0, 0)


def test_it_arrived_on_the_sheet_takes_the_parcel_in_as_well(bench, relay):
    number, sequence = needing(bench, relay)
    made = order(bench, relay, [((number, sequence), 1)])
    bench.record(number, "part_arrived", need=sequence)
    [line] = made.lines.all()
    assert (line.arrived, Stock.objects.get().reserved) == (1, 1)


def test_a_lost_parcel_makes_the_needs_unordered_again(bench, relay):
    first, second = needing(bench, relay), needing(bench, relay)
    made = order(bench, relay, [(first, 1), (second, 1)])

    assert give_up(bench, made, 1) == [second[0]]  # the oldest keeps its place
    assert not JobPart.objects.get(job=second[0]).ordered
    assert JobPart.objects.get(job=first[0]).ordered
    again = order(bench, relay, [(second, 1)])
    arrive(bench, again, 1)
    assert bench.job(second[0]).waiting_on == "hands"


def test_a_wrong_part_on_a_spare_piece_strands_nobody(bench, relay):
    need = needing(bench, relay)
    made = order(bench, relay, [(need, 1)], quantity=3)
    assert give_up(bench, made, 2, "wrong") == []
    assert give_up(bench, made, 1, "wrong") == [need[0]]


def test_a_part_sent_back_leaves_the_bin_and_is_needed_again(bench, relay):
    number, sequence = needing(bench, relay)
    arrive(bench, order(bench, relay, [((number, sequence), 1)]), 1)
    bench.record(number, "part_lost", need=sequence, why="sent-back")
    assert Stock.objects.get().on_hand == 0
    assert JobPart.objects.get(job=number).outstanding
    assert bench.job(number).waiting_on == "parts"


def test_a_need_is_not_ordered_twice(bench, relay):
    need = needing(bench, relay)
    made = order(bench, relay, [(need, 1)])
    with pytest.raises(Refused, match=f"is on order {made.pk} already"):
        order(bench, relay, [(need, 1)])
    assert Order.objects.count() == 1


def test_a_need_that_is_here_is_not_ordered(bench, relay):
    number, sequence = needing(bench, relay)
    bench.record(number, "part_arrived", need=sequence)
    with pytest.raises(Refused, match="is not outstanding any more"):
        order(bench, relay, [((number, sequence), 1)])


def test_more_than_is_to_come_cannot_arrive(bench, relay):
    made = order(bench, relay, [(needing(bench, relay), 1)])
    with pytest.raises(Refused, match="1 are still to come, not 2"):
        arrive(bench, made, 2)
    with pytest.raises(Refused, match="1 are still to come, not 2"):
        give_up(bench, made, 2)
    assert not Stock.objects.exists()


def back_unrepaired(bench, number):
    """Closed, and everything signed that a unit asks which has been opened."""
    bench.cover(number, "on")
    bench.clear(number, HAND_BACK)


def test_what_a_closed_job_ordered_is_free_when_it_comes(bench, relay):
    need = needing(bench, relay)
    made = order(bench, relay, [(need, 1)])
    back_unrepaired(bench, need[0])
    bench.stage(need[0], "withdrawn")

    assert arrive(bench, made, 1) == []
    assert Stock.objects.get().free == 1
    assert not JobPart.objects.filter(outstanding=True).exists()


def test_closing_a_job_frees_what_was_kept_for_it(bench, relay):
    need = needing(bench, relay)
    arrive(bench, order(bench, relay, [(need, 1)]), 1)
    back_unrepaired(bench, need[0])
    bench.stage(need[0], "withdrawn")
    assert Stock.objects.get().free == 1


def test_a_part_from_stock_is_kept_for_the_job(bench, relay):
    spare = needing(bench, relay)
    arrive(bench, order(bench, relay, [(spare, 1)], quantity=2), 2)
    number, sequence = needing(bench, relay)

    bench.record(number, "part_arrived", need=sequence, from_stock=True)

    assert bench.job(number).waiting_on == "hands"
    assert Stock.objects.get().free == 0
    third = needing(bench, relay)
    with pytest.raises(Refused, match="0 are free, 1 were asked for"):
        bench.record(third[0], "part_arrived", need=third[1], from_stock=True)
    assert JobPart.objects.get(job=third[0]).outstanding


def test_a_need_in_words_alone_has_to_be_named_before_stock_serves_it(bench):
    number = bench.receive(facts=amplifier())
    bench.record(number, "part_needed", spec="some relay")
    with pytest.raises(Refused, match="say first which part"):
        bench.record(number, "part_arrived", from_stock=True)


def test_a_part_that_is_not_in_the_list_is_named(bench):
    number = bench.receive(facts=amplifier())
    with pytest.raises(BadInput, match="there is no part of that number"):
        bench.record(number, "part_needed", spec="x", part=4711)


def test_an_ordered_need_cannot_turn_into_another_part(bench, relay):
    need = needing(bench, relay)
    order(bench, relay, [(need, 1)])
    other = PartFactory()
    with pytest.raises(Refused, match="is ordered or here already"):
        bench.record(need[0], "part_specified", need=need[1], part=other.pk)


def test_the_wrong_role_and_nonsense_are_refused(bench, people, relay):
    need = needing(bench, relay)
    made = order(bench, relay, [(need, 1)])
    with pytest.raises(Forbidden):
        order(Bench(people.viewer), relay, [(need, 1)])
    with pytest.raises(BadInput, match="Line 4711 is not on order"):
        ordering.arrive(made.pk, {4711: 1}, by=bench.by, at=timezone.now())
    with pytest.raises(BadInput, match="All quantities are empty"):
        ordering.arrive(made.pk, {}, by=bench.by, at=timezone.now())
    with pytest.raises(BadInput, match="there is no order"):
        ordering.arrive(4711, {1: 1}, by=bench.by, at=timezone.now())
    with pytest.raises(BadInput, match="The order is empty"):
        ordering.place(SupplierFactory(), [], by=bench.by, at=timezone.now())
    assert Allocation.objects.count() == 1


def test_what_is_settled_cannot_be_said_again(bench, relay):
    number, sequence = needing(bench, relay)
    with pytest.raises(Refused, match="is not on order"):
        bench.record(number, "part_lost", need=sequence, why="lost")
    arrive(bench, order(bench, relay, [((number, sequence), 1)]), 1)
    with pytest.raises(Refused, match="is here already"):
        bench.record(number, "part_arrived", need=sequence)
    bench.record(number, "part_fitted", need=sequence)
    with pytest.raises(Refused, match="is fitted already"):
        bench.record(number, "part_lost", need=sequence, why="sent-back")
    assert JobPart.objects.get().fitted
