"""The intake is corrected on a page; what was typed is kept when it is refused."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.customers.models import Intake
from tests.helpers import flat

WHOLE = {
    "make": "Corvenby",
    "model": "Spool 3",
    "serial": "S00042",
    "complaint": "Wow, 嗡嗡",
    "customer_name": "Ада Лунд",
    "customer_email": "ada@example.org",
    "customer_phone": "01 23",
    "customer_came_by": "parcel",
    "customer_parcel": "damp",
    "customer_accessories": "remote",
}


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def path(job):
    return reverse("correct-intake", args=[job])


def test_the_unit_leads_to_it_and_it_shows_what_is_on_record(hands, bench, job):
    assert path(job) in hands.get(reverse("job-unit", args=[job])).content.decode()
    text = hands.get(path(job)).content.decode()
    assert f'value="{bench.job(job).unit.serial}"' in text
    assert bench.job(job).complaint in text


def test_all_of_it_is_corrected_in_one_row_that_names_no_person(hands, bench, job):
    answer = hands.post(path(job), WHOLE)
    assert answer["Location"] == reverse("job", args=[job])
    found = bench.job(job)
    assert (str(found.unit), found.unit.serial) == ("Corvenby Spool 3", "S00042")
    assert found.complaint == "Wow, 嗡嗡"
    intake = Intake.objects.get(job=job)
    assert (intake.customer.name, intake.came_by, intake.parcel) == ("Ада Лунд", "parcel", "damp")
    row = found.ledger.last()
    assert row.event_type == "intake_corrected"
    assert "Ада" not in row.body
    shown = hands.get(path(job)).content.decode()
    assert all(f'value="{WHOLE[name]}"' in shown for name in ("make", "serial", "customer_email"))


def test_what_was_not_changed_is_not_written(hands, bench, job):
    unit = bench.job(job).unit
    same = {"make": unit.make, "model": unit.model, "serial": unit.serial, "complaint": "hums"}
    head = bench.job(job).head
    hands.post(path(job), same)
    assert bench.job(job).head == head
    hands.post(path(job), {**same, "complaint": "hums louder"})
    assert bench.job(job).ledger.last().data["changes"].keys() == {"complaint"}


def test_a_unit_that_is_here_already_is_refused_and_what_was_typed_is_kept(hands, bench, job):
    other = bench.job(bench.receive(make="Corvenby", model="Spool 3", serial="S00042"))
    answer = hands.post(path(job), WHOLE)
    assert answer.status_code == 409
    text = flat(answer.content.decode())
    assert f"job {other.number} is open" in text
    assert f'href="/jobs/{other.number}/"' in text
    assert 'value="ada@example.org"' in text
    assert bench.job(job).unit.make == "Test Works"


def test_a_bad_field_is_marked_and_kept(hands, bench, job):
    answer = hands.post(path(job), {**WHOLE, "customer_email": "ada at home"})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'value="ada at home"' in text
    assert "name@example.org" in text
    assert bench.job(job).unit.make == "Test Works"


def test_who_may_not_receive_may_not_correct(client, people, job):
    client.force_login(people.viewer)
    assert client.get(path(job)).status_code == 403
    assert "correct" not in client.get(reverse("job-unit", args=[job])).content.decode()
