"""The warranty of a unit that came back, to the day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from shop.jobs import warranty
from shop.jobs.models import Job
from tests.helpers import amplifier
from tests.reminders.when import at

pytestmark = pytest.mark.django_db
RELEASED = at("2026-03-02T17:00")


@pytest.fixture
def released(bench, settings):
    """A unit released on 2 March, with 30 days of warranty: until 1 April."""
    settings.WARRANTY_DAYS = 30
    number = bench.receive(make="Corvenby", model="C 4", serial="K-77", facts=amplifier())
    Job.objects.filter(pk=number).update(stage="released", closed_at=RELEASED)
    return number


def back(bench, when):
    with time_machine.travel(when, tick=False):
        number = bench.receive(make="Corvenby", model="C 4", serial="K-77")
    Job.objects.filter(pk=number).update(received_at=when)
    return bench.job(number)


@pytest.mark.parametrize(
    ("when", "within"),
    [
        ("2026-04-01T23:30", True),
        ("2026-04-02T00:30", False),
        ("2026-03-03T09:00", True),
    ],
)
def test_the_last_day_counts_whole_and_the_next_not(bench, released, when, within):
    found = warranty.return_of(back(bench, at(when)))
    assert found is not None
    assert (found.job.pk, found.until, found.within) == (released, date(2026, 4, 1), within)


def test_neither_a_first_visit_nor_a_shop_without_warranty_says_anything(bench, released, settings):
    assert warranty.return_of(bench.job(released)) is None
    again = back(bench, RELEASED + timedelta(days=1))
    assert warranty.return_of(again) is not None
    settings.WARRANTY_DAYS = 0
    assert warranty.return_of(again) is None


def test_what_went_back_unrepaired_has_no_warranty(bench, released):
    Job.objects.filter(pk=released).update(stage="withdrawn")
    assert warranty.return_of(back(bench, RELEASED + timedelta(days=1))) is None


def test_the_page_and_the_api_say_it(bench, released, client, people):
    client.force_login(people.technician)
    number = back(bench, at("2026-04-01T12:00")).number
    for page in ("job", "job-unit"):
        assert "Within warranty" in client.get(reverse(page, args=[number])).content.decode()
    told = client.get(f"/api/v1/jobs/{number}/").json()
    assert told["warranty"] == {"until": "2026-04-01", "within": True}
    Job.objects.filter(pk=number).update(received_at=at("2026-04-02T12:00"))
    text = client.get(reverse("job", args=[number])).content.decode()
    assert "Within warranty" not in text
    assert "ended on" in text
    assert client.get(f"/api/v1/jobs/{number}/").json()["warranty"]["within"] is False
    assert client.get(f"/api/v1/jobs/{released}/").json()["warranty"] is None
