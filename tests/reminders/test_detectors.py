from __future__ import annotations

from decimal import Decimal

import pytest
import time_machine

from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.parts.models import Order
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from shop.reminders import queries as reminder_queries
from shop.reminders import services as reminder_services
from shop.reminders.models import Reminder, Snooze
from tests.factories import PartFactory, SupplierFactory
from tests.helpers import Bench, amplifier
from tests.reminders.when import at

pytestmark = pytest.mark.django_db


def topics_after_round(text):
    """Topics of the reminders that hold after a round of the worker."""
    reminder_services.remind(now=at(text))
    return [row.topic for row in reminder_queries.open_reminders(at(text))]


def during(text):
    return time_machine.travel(at(text), tick=False)


@pytest.fixture
def energised(bench):
    with during("2026-11-25T10:00"):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
    return number


def test_mains_on_for_hours_is_said_until_it_is_off(bench, energised):
    assert topics_after_round("2026-11-25T13:59") == []
    assert topics_after_round("2026-11-25T14:01") == ["permit-long"]
    with during("2026-11-25T14:05"):
        bench.power(energised, "isolated")
    assert reminder_queries.open_reminders(at("2026-11-25T14:05")) == []
    assert topics_after_round("2026-11-25T14:06") == []


def test_mains_left_on_after_closing_is_urgent_and_said_every_hour(energised):
    assert "overnight" not in topics_after_round("2026-11-25T17:59")
    assert topics_after_round("2026-11-25T18:01")[0] == "overnight"
    topics_after_round("2026-11-25T18:30")
    assert Reminder.objects.filter(topic="overnight").count() == 1
    topics_after_round("2026-11-25T19:05")
    assert Reminder.objects.filter(topic="overnight").count() == 2
    assert "overnight" not in topics_after_round("2026-11-26T09:30")


def test_power_applied_after_closing_was_not_forgotten(bench):
    with during("2026-11-25T20:00"):
        bench.limited(bench.receive(facts=amplifier()))
    assert topics_after_round("2026-11-25T20:10") == []


def test_a_weekend_counts_as_one_closing(bench):
    with during("2026-11-27T17:00"):
        bench.limited(bench.receive(facts=amplifier()))
    topics_after_round("2026-11-28T12:00")
    topics_after_round("2026-11-29T12:00")
    causes = set(Reminder.objects.filter(topic="overnight").values_list("dedup_key", flat=True))
    assert len(causes) == 1
    assert next(iter(causes)).endswith("2026-11-27")


def test_a_soak_without_a_reading_is_asked_for(bench):
    with during("2026-11-25T10:00"):
        number = bench.receive(facts=amplifier())
        bench.open_up(number)
        bench.to_soak(number)
        bench.record(number, "soak_started")
    assert topics_after_round("2026-11-25T10:04") == []
    assert topics_after_round("2026-11-25T10:06") == ["soak-reading"]  # the one at the start
    with during("2026-11-25T10:07"):
        bench.record(number, "soak_reading", quantity="sink temperature", value=22.0, unit="C")
    assert topics_after_round("2026-11-25T10:34") == []
    assert topics_after_round("2026-11-25T10:36") == ["soak-reading"]  # the one after half an hour
    with during("2026-11-25T11:02"):
        bench.record(number, "soak_reading", quantity="sink temperature", value=41.0, unit="C")
    assert topics_after_round("2026-11-25T11:30") == []
    assert topics_after_round("2026-11-25T12:06") == ["soak-reading"]
    assert "permit-long" not in topics_after_round("2026-11-25T15:00")


@pytest.fixture
def shelved(bench):
    """On the shelf since Wednesday, its relay expected on Friday."""
    with during("2026-11-25T10:00"):
        number = bench.receive(facts=amplifier())
        bench.open_up(number)
        bench.record(number, "part_needed", spec="relay")
        bench.stage(number, "awaiting_parts")
        need = bench.traveller(number).record.needs[0].sequence
        line = LineToOrder(PartFactory(), 1, Decimal(2), (((number, need), 1),))
        day = at("2026-11-27T00:00").date()
        ordering.place(
            SupplierFactory(name="North"),
            [line],
            by=bench.by,
            at=at("2026-11-25T10:00"),
            expected_on=day,
        )
    return number


def test_a_parcel_that_is_late_is_said_for_each_job_that_waits_on_it(shelved):
    assert topics_after_round("2026-11-27T17:00") == []
    assert topics_after_round("2026-11-28T10:00") == ["parcel-late"]
    assert "from North is 1 day late" in Reminder.objects.get().sentence


def test_parts_that_came_are_told_to_whose_hands_it_was_in(bench, shelved, people):
    order = Order.objects.get()
    with during("2026-11-26T10:00"):
        counts = {order.lines.get().pk: 1}
        ordering.arrive(order.pk, counts, by=people.desk, at=at("2026-11-26T10:00"))
    assert topics_after_round("2026-11-26T10:01") == ["parts-here"]
    assert Reminder.objects.get().job.technician == bench.by
    with during("2026-11-26T11:00"):
        bench.stage(shelved, "opened")
    assert topics_after_round("2026-11-26T11:01") == []


def test_a_customer_who_does_not_answer(bench):
    with during("2026-11-25T10:00"):
        number = bench.receive(facts=amplifier())
        bench.record(number, "estimate_sent")
    assert "owner-silent" not in topics_after_round(
        "2026-11-30T09:59"
    )  # 27 working hours: Monday 10:00
    assert "owner-silent" in topics_after_round("2026-11-30T10:01")
    with during("2026-11-30T10:05"):
        bench.record(number, "estimate_answered", answer="yes")
    assert "owner-silent" not in topics_after_round("2026-11-30T10:06")


def test_what_is_snoozed_is_silent_until_then(bench, energised):
    until, now = at("2026-11-26T10:00"), at("2026-11-25T14:30")
    assert topics_after_round("2026-11-25T14:01") == ["permit-long"]
    reminder_services.snooze(
        energised, "permit-long", until=until, reason="burn-in", by=bench.by, at=now
    )
    assert topics_after_round("2026-11-25T14:31") == []
    assert "permit-long" not in topics_after_round("2026-11-26T09:59")
    assert Reminder.objects.filter(topic="permit-long").count() == 1
    assert "permit-long" in topics_after_round("2026-11-26T10:01")


def test_mains_left_on_cannot_be_snoozed(bench, energised):
    with pytest.raises(Refused, match="take mains off"):
        reminder_services.snooze(
            energised,
            "overnight",
            until=at("2026-11-26T10:00"),
            reason="known",
            by=bench.by,
            at=at("2026-11-25T20:00"),
        )
    assert not Snooze.objects.exists()


@pytest.mark.parametrize(
    ("topic", "until", "reason", "sentence"),
    [
        ("weather", "2026-11-26T10:00", "x", "topic is 'weather'"),
        ("stalled", "2026-11-24T10:00", "x", "within the next 60 days"),
        ("stalled", "2027-11-24T10:00", "x", "within the next 60 days"),
        ("stalled", "2026-11-26T10:00", " ", "reason is empty"),
    ],
)
def test_a_snooze_that_makes_no_sense_is_a_sentence(
    bench, energised, topic, until, reason, sentence
):
    now = at("2026-11-25T12:00")
    with pytest.raises(BadInput, match=sentence):
        reminder_services.snooze(
            energised, topic, until=at(until), reason=reason, by=bench.by, at=now
        )


def test_a_viewer_cannot_put_anything_off(people, energised):
    with pytest.raises(Forbidden):
        reminder_services.snooze(
            energised,
            "stalled",
            until=at("2026-11-26T10:00"),
            reason="x",
            by=Bench(people.viewer).by,
            at=at("2026-11-25T12:00"),
        )


def test_the_page_puts_off_and_says_what_is_wrong(client, people, energised):
    client.force_login(people.technician)
    with during("2026-11-25T14:01"):
        reminder_services.remind(now=at("2026-11-25T14:01"))
        page = client.get("/reminders/").content.decode()
        assert "limited mains since 10:00" in page
        body = {"topic": "permit-long", "days": "1", "reason": "burn-in"}
        bad = client.post(f"/reminders/{energised}/snooze/", body | {"reason": ""}, follow=True)
        assert "Not snoozed: Because: This field is required." in bad.content.decode()
        good = client.post(f"/reminders/{energised}/snooze/", body, follow=True)
        assert "is snoozed until 26 November, 14:01" in good.content.decode()
        assert "burn-in" in good.content.decode()
