from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.utils import timezone

from shop.parts import stock
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from shop.planning.next_actions import next_actions
from tests.factories import PartFactory, SupplierFactory
from tests.helpers import amplifier
from tests.planning.test_ordering import needing, order

pytestmark = pytest.mark.django_db


def whats(actions):
    return [action.what for action in actions]


def test_a_promise_that_is_near_comes_first_and_says_so(bench, now):
    first = bench.receive(facts=amplifier())
    second = bench.receive(facts=amplifier())
    day = timezone.localdate(now) + timedelta(days=1)
    bench.record(second, "promise_made", on=day.isoformat())
    listed = next_actions(now).bench
    assert [action.job.number for action in listed] == [second, first]
    assert listed[0].why[0] == f"promised for {day:%-d %B}, in 1 day"


def test_a_promise_that_is_broken_says_by_how_much(bench, now):
    number = bench.receive(facts=amplifier())
    bench.record(number, "promise_made", on=(now - timedelta(days=3)).date().isoformat())
    assert "3 days late" in next_actions(now).bench[0].why[0]


def test_a_two_minute_answer_is_not_hidden_behind_long_work(bench, now):
    for _ in range(50):
        bench.receive(facts=amplifier())
    asked = bench.receive(facts=amplifier())
    bench.record(asked, "estimate_sent")
    bench.record(asked, "estimate_answered", answer="question")

    actions = next_actions(timezone.now())

    assert whats(actions.quick) == ["Answer the customer"]
    assert actions.quick[0].job.number == asked
    assert asked not in [action.job.number for action in actions.bench]
    assert len(actions.bench) == 40


def test_parts_that_came_stand_among_the_quick_ones(bench):
    relay = PartFactory()
    need = needing(bench, relay)
    assert [a.job.number for a in next_actions(timezone.now()).bench if a.job] == []
    made = order(bench, relay, [(need, 1)])
    at = timezone.now()
    ordering.arrive(made.pk, {made.lines.get().pk: 1}, by=bench.by, at=at)
    [action] = next_actions(timezone.now()).quick
    assert action.what == "Back on the bench: its parts are here"
    assert action.why == ["parts came less than a minute ago"]


def test_what_nobody_has_ordered_is_something_to_do(bench):
    relay = PartFactory()
    for _ in range(2):
        needing(bench, relay)
    [action] = next_actions(timezone.now()).bench
    assert action.what == "Order 2 parts"
    assert action.why[0].startswith("2 jobs wait for what nobody has ordered")


def test_a_part_that_lies_in_a_bin_is_something_to_do(bench, now):
    relay = PartFactory(spec="Relay 24 V")
    number, _ = needing(bench, relay)
    stock.put_in(relay, stock.get_or_create_bin("A"), 1, "bought", stock.StockActor(bench.by, now))
    [action] = next_actions(now).quick
    assert (action.what, action.job.number) == ("Take from stock: Relay 24 V", number)


def test_a_late_parcel_is_asked_after(bench, now):
    relay = PartFactory()
    need = needing(bench, relay)
    line = LineToOrder(relay, 1, Decimal(1), ((need, 1),))
    day = timezone.localdate(now) - timedelta(days=2)
    made = ordering.place(
        SupplierFactory(name="North"), [line], by=bench.by, at=now, expected_on=day
    )
    [action] = next_actions(now).quick
    assert action.what == f"Ask North where order {made.pk} is"
    assert action.why == ["2 days late; 1 job waits on it"]


def test_a_stalled_job_says_so(bench):
    with time_machine.travel(timezone.now() - timedelta(days=30), tick=False):
        bench.receive(facts=amplifier())
    [action] = next_actions(timezone.now()).bench
    assert "it has stalled: nobody has touched it for longer than usual in this stage" in action.why
    assert action.why[0] == "4 weeks, 2 days in this stage"


def test_an_empty_shop_has_nothing_to_do(db, now):
    actions = next_actions(now)
    assert (actions.quick, actions.bench) == ([], [])


def test_a_decline_is_seen_at_the_bench_at_once(bench):
    """No part is ordered for a unit that goes back; what is next is the hand-back."""
    number = bench.receive(facts=amplifier())
    bench.record(number, "part_needed", spec="Relay 24 V")
    bench.record(number, "estimate_sent")
    assert "Order 1 part" in whats(next_actions(timezone.now()).bench)
    bench.record(number, "estimate_answered", answer="no")
    actions = next_actions(timezone.now())
    assert not any("Order" in what for what in whats([*actions.quick, *actions.bench]))
    assert number in [
        action.job.number for action in [*actions.quick, *actions.bench] if action.job
    ]
    bench.record(number, "estimate_answered", answer="yes")
    assert "Order 1 part" in whats(next_actions(timezone.now()).bench)


def test_a_decline_brings_a_unit_back_from_the_shelf(bench):
    number = bench.receive(facts=amplifier())
    bench.record(number, "part_needed", spec="Relay 24 V")
    bench.record(number, "part_ordered")
    bench.stage(number, "reproducing")
    bench.open_up(number)
    bench.cover(number, "on")
    bench.stage(number, "awaiting_parts")
    assert bench.job(number).waiting_on == "parts"
    bench.record(number, "estimate_sent")
    bench.record(number, "estimate_answered", answer="no")
    assert bench.job(number).waiting_on == "hands"
    [action] = [a for a in next_actions(timezone.now()).bench if a.job]
    assert "parts are here" not in action.what
