"""What stands beside the act on a wide page."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.customers.models import Customer, Intake
from tests.helpers import flat

pytestmark = pytest.mark.django_db


@pytest.fixture
def beside(client, people, job):
    intake, _ = Intake.objects.get_or_create(job_id=job)
    intake.customer = Customer.objects.create(name="Ada Brunn", phone="+44 20 555 01")
    intake.save()

    def page(by=people.technician):
        client.force_login(by)
        response = client.get(reverse("job-look-up", args=[job]), headers={"HX-Request": "true"})
        return flat(response.content.decode())

    return page


def test_customer_estimate_and_promised_day(beside):
    page = beside()
    assert "Ada Brunn" in page
    assert 'href="tel:+442055501"' in page
    assert "no day" in page


def test_who_may_not_write_sees_no_customer(beside, people):
    assert "Ada Brunn" not in beside(people.viewer)


def test_findings_and_causes_come_as_they_are_told(bench, beside, job):
    assert "Found: fuse blown" not in beside()
    bench.record(job, "finding_recorded", finding="fuse-blown", section="supply")
    assert "Found: fuse blown" in beside()
    assert "Test next" in beside()


def test_without_a_script_it_is_a_page(client, people, job):
    client.force_login(people.technician)
    assert "<h1" in client.get(reverse("job-look-up", args=[job])).content.decode()
