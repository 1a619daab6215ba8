"""What is left once a unit is done, as the next act says it: tell, pack, then nothing."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.customers.models import Customer, Intake
from shop.jobs.models import Job
from shop.jobs.next_act import next_act
from shop.messages.models import Message
from tests.helpers import amplifier


@pytest.fixture
def gone(bench):
    """A unit that was handed back; it came by parcel."""
    number = bench.receive(facts=amplifier())
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    customer = Customer.objects.create(name="Mirela", phone="12", contact_by=Customer.TELEPHONE)
    given = {"customer": customer, "came_by": Intake.PARCEL}
    Intake.objects.update_or_create(job_id=number, defaults=given)
    return number


def page_of(number: int) -> str:
    act = next_act(Job.objects.get(pk=number), timezone.now())
    assert act.act in ("open", "none")
    return act.more.get("page", "")


def told(number: int, **more) -> Message:
    intake = Intake.objects.get(job=number)
    now = timezone.now()
    return Message.objects.create(
        job_id=number,
        customer=intake.customer,
        key="unrepaired",
        written_at=now,
        send_after=now,
        **more,
    )


def test_a_message_for_a_person_comes_first_then_the_parcel_then_nothing(bench, gone):
    message = told(gone, about="unrepaired", way=Message.HAND)
    assert page_of(gone) == "tell"
    Message.objects.filter(pk=message.pk).update(sent_at=timezone.now())
    assert page_of(gone) == "pack"
    bench.record(gone, "shipped", carrier="North Post")
    assert page_of(gone) == ""


def test_a_mail_on_its_way_asks_nobody_and_one_that_was_given_up_does(gone):
    message = told(gone, about="unrepaired", way=Message.EMAIL)
    assert page_of(gone) == "pack"
    Message.objects.filter(pk=message.pk).update(given_up_at=timezone.now())
    assert page_of(gone) == "tell"


def test_what_was_brought_over_the_counter_is_not_packed(gone):
    Intake.objects.filter(job=gone).update(came_by=Intake.COUNTER)
    assert page_of(gone) == ""


def test_the_page_leads_there(client, people, gone):
    client.force_login(people.technician)
    text = client.get(reverse("job", args=[gone])).content.decode()
    assert "Pack it and send it" in text
    assert reverse("customer-side", args=[gone]) in text
