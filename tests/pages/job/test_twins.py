"""The two open jobs that a unit of an older shop may have, on the page of each."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.jobs.models import Job
from tests.helpers import amplifier, flat

pytestmark = pytest.mark.django_db

LINE = "The unit has two open jobs"


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def twin(bench, job):
    """A second open job of the unit, as releases before this one let through."""
    number = bench.receive(facts=amplifier())
    Job.objects.filter(pk=number).update(unit=bench.job(job).unit)
    return number


def page(hands, number):
    return flat(hands.get(reverse("job", args=[number])).content.decode())


def test_each_leads_to_the_other_and_to_one(hands, bench, job, twin):
    assert LINE in page(hands, job)
    assert f"Close job {job} and go on here" in page(hands, twin)

    asked = flat(hands.post(reverse("join", args=[job]), {"job": twin}).content.decode())
    assert f"Close job {twin} and go on in {job}" in asked
    assert not bench.job(twin).closed
    sure = {"job": twin, "sure": "yes"}
    answer = hands.post(reverse("join", args=[job]), sure, follow=True)

    assert f"Job {twin} is closed; this one goes on." in flat(answer.content.decode())
    assert (bench.job(twin).closed, bench.job(job).closed) == (True, False)
    assert LINE not in page(hands, job)


def test_a_unit_with_one_job_is_not_told_so(hands, job):
    assert LINE not in page(hands, job)


@pytest.mark.parametrize("other", ["", "x", "999999999"])
def test_a_job_that_is_none_is_a_sentence(hands, job, other):
    answer = hands.post(reverse("join", args=[job]), {"job": other})
    assert answer.status_code in (404, 422)


def test_who_only_reads_cannot_join(client, people, job, twin, bench):
    client.force_login(people.viewer)
    assert client.post(reverse("join", args=[job]), {"job": twin}).status_code == 403
    assert not bench.job(twin).closed
