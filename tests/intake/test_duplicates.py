"""Hints at intake: here before, the same serial number elsewhere, the same address elsewhere."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.intake import services as intake_services
from shop.intake.duplicates import duplicate_hints
from shop.jobs.models import Job

pytestmark = pytest.mark.django_db


@pytest.fixture
def take(people):
    return lambda **unit: intake_services.receive(by=people.technician, at=timezone.now(), **unit)


def test_a_new_unit_of_a_new_customer_has_none(take):
    take(make="Corvenby", serial="K-1", customer_name="Ada", customer_email="ada@example.org")
    assert duplicate_hints(take(make="Ravelund", serial="K-2", customer_name="Bo")) == []


def test_without_serial_number_and_customer_nothing_is_like_anything(take):
    take(make="Corvenby")
    assert duplicate_hints(take(make="Corvenby")) == []


def test_a_unit_that_is_here_is_named(take):
    first = take(make="Corvenby", model="A", serial="K-1")
    other = take(make="Corvenby", model="A", serial="K-2")
    # Two open jobs of one unit, as shops of older releases have them.
    Job.objects.filter(pk=other.number).update(unit=first.unit_id)
    again = Job.objects.get(pk=other.number)
    assert duplicate_hints(again) == [f"This unit is here already: job {first.number} is open."]


def test_a_unit_that_was_here_is_named(take, bench):
    first = take(make="Corvenby", model="A", serial="K-1")
    bench.pass_gate(first.number, "hand-back")
    bench.stage(first.number, "withdrawn")
    again = take(make="Corvenby", model="A", serial="K-1")
    assert duplicate_hints(again) == [f"This unit was here before, as job {first.number}."]


def test_the_same_serial_number_under_another_spelling(take):
    first = take(make="Corvenby", model="A", serial="k-1")
    again = take(make="Corvan", model="A", serial="K-1")
    sentence = f"The same serial number under another name: job {first.number} (Corvenby A)."
    assert duplicate_hints(again) == [sentence]


def test_the_same_address_under_another_name(take):
    first = take(make="Corvenby", customer_name="Ada", customer_email="ada@example.org")
    again = take(make="Ravelund", customer_name="A. Lund", customer_email="ADA@example.org")
    assert duplicate_hints(again) == [
        f"The same e-mail under another name: job {first.number} ({first.unit})."
    ]
    same = take(make="Other", customer_name="Ada", customer_email="ada@example.org")
    assert f"job {first.number} " not in " ".join(duplicate_hints(same))


def test_the_page_says_it(client, people, take):
    first = take(make="Corvenby", model="A", serial="K-1")
    client.force_login(people.technician)
    body = {"make": "Corvenby", "model": "A", "serial": "K-1"}
    answer = client.post("/receive/", body, follow=True)
    assert f"This unit is here already: job {first.number} is open." in answer.content.decode()
