"""What was typed into a form that is refused stands in it again, beside the sentence."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.jobs.models import JobPart
from shop.model_sheets.models import ModelSheet
from shop.parts.models import Part
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from shop.reminders.models import Reminder
from tests.factories import OfferFactory
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(bench):
    """A job with a part that is needed, an offer for it, and a reminder."""
    number = bench.receive(facts=amplifier())
    offer = OfferFactory()
    bench.record(number, "part_needed", spec=offer.part.spec, part=offer.part.pk)
    ModelSheet.objects.create(make="Test Works", model="Sheet 1")
    Reminder.objects.create(
        job_id=number,
        topic="stalled",
        sentence="Nothing happened.",
        made_at=timezone.now(),
        dedup_key="x",
        head=bench.job(number).head,
    )
    return number


# page: what is typed, the status, and what must stand on the page again
REFUSED = {
    "record": ({"finding": "", "note": "green fur on it"}, 422, "green fur on it"),
    "facts": ({"name": "unit.rail_volts", "value": "seventy"}, 422, "unit.rail_volts"),
    "estimate-limit": ({"amount": "a lot"}, 422, 'value="a lot"'),
    "snooze": ({"topic": "stalled", "days": "x", "reason": "on leave"}, 422, 'value="on leave"'),
    "mail": ({"way": "each", "email": "nobody at all"}, 422, 'value="nobody at all"'),
    "need": ({"quantity": "0", "reference": "ORD-7"}, 422, 'value="ORD-7"'),
    "need-part": ({"part": "999999"}, 422, "Part: Select a valid choice"),
    "order": ({"per_day": "much", "needs": "NEED"}, 422, 'value="much"'),
    "customer-shipped": ({"carrier": "North Post", "note": "two boxes"}, 409, "two boxes"),
    "part-stock": (
        {"act": "scrapped", "quantity": "5", "bin": "A1", "note": "cracked"},
        409,
        'value="cracked"',
    ),
    "part-offer": ({"breaks": "cheap", "code": "N-4711"}, 422, 'value="N-4711"'),
    "part-values": ({"part_class": "fuse", "amps": "two"}, 422, 'value="two"'),
    "model-figure": ({"name": "F801", "value": "T 2 A", "source": ""}, 422, 'value="T 2 A"'),
    "models": ({"make": "", "model": "Sheet 2"}, 422, 'value="Sheet 2"'),
    "calculator": ({"volts": "75", "microfarads": "10000", "job": "4711"}, 422, 'value="4711"'),
    "sound": ({"name": "Line in 4", "channel": "1"}, 422, 'value="Line in 4"'),
    "recording": ({"what": "tone", "note": "volume at noon"}, 422, "volume at noon"),
}


def address(name, job):
    arguments = {
        "record": [job, "finding_recorded"],
        "need": [job, JobPart.objects.get(job=job).need],
        "need-part": [job, JobPart.objects.get(job=job).need],
        "calculator": ["discharge"],
        "model-figure": [ModelSheet.objects.earliest("pk").pk],
    }
    if name.startswith("part-"):
        return reverse(name, args=[Part.objects.earliest("pk").pk])
    return reverse(
        name,
        args=arguments.get(name, [] if name in ("mail", "order", "models", "sound") else [job]),
    )


@pytest.mark.parametrize("name", REFUSED)
def test_nothing_typed_is_lost(client, people, job, name):
    client.force_login(people.technician)
    typed, status, kept = REFUSED[name]
    need = str(JobPart.objects.get(job=job).pk)
    body = {field: need if value == "NEED" else value for field, value in typed.items()}
    answer = client.post(address(name, job), body)
    text = answer.content.decode()
    assert answer.status_code == status, text
    assert 'class="refused" role="alert"' in text
    assert kept in text


def test_a_price_of_waiting_that_is_no_number_keeps_the_ticks(client, people, bench, job):
    client.force_login(people.technician)
    other = OfferFactory()
    bench.record(job, "part_needed", spec=other.part.spec, part=other.part.pk)
    first, second = JobPart.objects.order_by("pk")
    answer = client.get(reverse("order"), {"per_day": "much", "needs": second.pk})
    text = " ".join(answer.content.decode().split())
    assert f'value="{second.pk}" checked' in text
    assert f'value="{first.pk}" checked' not in text


def test_counts_of_a_parcel_stay(client, people, job):
    client.force_login(people.technician)
    need = JobPart.objects.get(job=job)
    offer = need.part.offers.get()
    wanted = LineToOrder(need.part, 3, 2, (((job, need.need), 1),))
    order = ordering.place(offer.supplier, [wanted], by=people.technician, at=timezone.now())
    [line] = order.lines.all()
    path = reverse("parcel", args=[order.pk])
    answer = client.post(path, {"act": "arrived", line.field: "two", "bin": "B7"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="two"' in text
    assert 'value="B7"' in text
