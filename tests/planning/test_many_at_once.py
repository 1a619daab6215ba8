"""Several parcels, and several reminders, by one act: what is ticked, what went stale meanwhile."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from shop.jobs.models import JobPart
from shop.parts.models import Order, Stock
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from shop.reminders.models import Reminder, Snooze
from tests.factories import PartFactory, SupplierFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def orders(bench):
    """Two parcels of two parts each, one piece of each for a job."""
    made = []
    for name in ("North", "South"):
        number = bench.receive()
        lines = []
        for part in (PartFactory(), PartFactory()):
            bench.record(number, "part_needed", spec=part.spec, part=part.pk)
            need = JobPart.objects.filter(job=number).order_by("-need").first()
            lines.append(LineToOrder(part, 2, Decimal(1), (((number, need.need), 1),)))
        supplier = SupplierFactory(name=name)
        made.append(ordering.place(supplier, lines, by=bench.by, at=timezone.now()))
    return made


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def ticks_of(page):
    return [part.split('"')[0] for part in page.split('name="parcel" value="')[1:]]


class TestParcels:
    def test_those_ticked_are_taken_in_whole(self, hands, orders):
        ticks = ticks_of(hands.get("/backlog/").content.decode())
        assert ticks == [f"{order.pk}-4" for order in orders]
        answer = hands.post("/backlog/arrived/", {"parcel": ticks, "bin": "A 1"}, follow=True)
        assert "Taken in for jobs" in answer.content.decode()
        assert not Order.objects.filter(closed_at=None).exists()
        assert not JobPart.objects.filter(outstanding=True).exists()
        assert sum(row.on_hand for row in Stock.objects.filter(bin__name="A 1")) == 8

    def test_the_one_that_is_not_ticked_stays(self, hands, orders):
        hands.post("/backlog/arrived/", {"parcel": [f"{orders[0].pk}-4"]})
        assert list(Order.objects.filter(closed_at=None)) == [orders[1]]

    def test_a_stale_page_takes_nothing_in(self, hands, orders, bench):
        ticks = ticks_of(hands.get("/backlog/").content.decode())
        line = orders[1].lines.first()
        ordering.arrive(orders[1].pk, {line.pk: 1}, by=bench.by, at=timezone.now())
        answer = hands.post("/backlog/arrived/", {"parcel": ticks})
        assert answer.status_code == 409
        page = answer.content.decode()
        assert f"Order {orders[1].pk}: 3 pieces are to come by now, not 4" in page
        assert Order.objects.filter(closed_at=None).count() == 2
        # The page that says so has ticks of now.
        assert hands.post("/backlog/arrived/", {"parcel": ticks_of(page)}).status_code == 302

    def test_pressed_twice_it_arrives_once(self, hands, orders):
        ticks = [f"{orders[0].pk}-4"]
        assert hands.post("/backlog/arrived/", {"parcel": ticks}).status_code == 302
        assert hands.post("/backlog/arrived/", {"parcel": ticks}).status_code == 409
        assert sum(row.on_hand for row in Stock.objects.all()) == 4

    @pytest.mark.parametrize("ticks", [[], ["x"], ["1"], ["-"], ["1-x"], ["²-²"]])
    def test_no_tick_and_strange_ones_are_told(self, hands, orders, ticks):
        answer = hands.post("/backlog/arrived/", {"parcel": ticks})
        assert answer.status_code == 422
        assert Order.objects.filter(closed_at=None).count() == 2

    def test_an_order_that_is_not_there(self, hands, orders):
        assert hands.post("/backlog/arrived/", {"parcel": ["4711-4"]}).status_code == 409

    def test_a_viewer_sees_no_ticks(self, client, people, orders):
        client.force_login(people.viewer)
        assert ticks_of(client.get("/backlog/").content.decode()) == []


class TestReminders:
    @pytest.fixture
    def reminders(self, bench):
        def made(topic, number):
            job = bench.job(number)
            return Reminder.objects.create(
                job=job,
                topic=topic,
                dedup_key=f"{topic}/{number}",
                sentence=f"Job {number}: {topic}",
                head=job.head,
                made_at=timezone.now(),
            )

        return [made("stalled", bench.receive()) for _ in range(3)]

    def typed(self, *ticked, **more):
        return {"reminder": [row.pk for row in ticked], "days": "1", "reason": "holiday"} | more

    def test_those_ticked_are_snoozed_for_one_reason(self, hands, reminders):
        page = hands.get("/reminders/").content.decode()
        assert page.count('name="reminder"') == 3
        answer = hands.post("/reminders/snooze/", self.typed(*reminders[:2]), follow=True)
        assert "2 reminders snoozed." in answer.content.decode()
        assert {row.job_id for row in Snooze.objects.all()} == {r.job_id for r in reminders[:2]}
        assert {row.reason for row in Snooze.objects.all()} == {"holiday"}

    def test_what_was_settled_meanwhile_is_told_and_not_snoozed(self, hands, reminders, bench):
        bench.record(reminders[0].job_id, "note_added", text="looked at it")
        answer = hands.post("/reminders/snooze/", self.typed(*reminders), follow=True)
        assert "2 reminders snoozed. 1 settled meanwhile." in answer.content.decode()
        assert Snooze.objects.count() == 2

    def test_without_a_reason_nothing_is_snoozed_and_the_ticks_stay(self, hands, reminders):
        answer = hands.post("/reminders/snooze/", self.typed(*reminders[:2], reason=" "))
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "Not snoozed: Because" in page
        assert page.count(" checked") == 2
        assert not Snooze.objects.exists()

    def test_without_a_tick_it_says_so(self, hands, reminders):
        answer = hands.post("/reminders/snooze/", self.typed())
        assert answer.status_code == 422
        assert "No reminder is ticked" in answer.content.decode()

    def test_one_that_is_urgent_stops_all_of_it(self, hands, reminders, bench, job):
        bench.limited(job)
        urgent = Reminder.objects.create(
            job=bench.job(job),
            topic="overnight",
            dedup_key="overnight/1",
            sentence="mains is on",
            made_at=timezone.now(),
        )
        answer = hands.post("/reminders/snooze/", self.typed(urgent, *reminders))
        assert answer.status_code == 409
        assert "cannot be snoozed" in answer.content.decode()
        assert not Snooze.objects.exists()
