"""The page that takes a unit in: one that is here already, and one that arrives open."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.jobs.models import Job

BODY = {"make": "Corvenby", "model": "Spool 3", "serial": "K-1", "complaint": "Σφυρίζει"}


@pytest.fixture
def desk(client, people):
    client.force_login(people.desk)
    return client


@pytest.fixture
def here(bench):
    return bench.receive(**BODY | {"complaint": "hums"})


def test_a_unit_that_is_here_is_offered_to_its_job_with_all_that_was_typed(desk, here):
    answer = desk.post(reverse("receive"), BODY | {"serial": "k 1"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert f"This unit is here already: job {here} is open." in page
    assert f"Add it to job {here}</button>" in page
    assert "Σφυρίζει" in page
    assert Job.objects.count() == 1


def test_the_button_adds_it(desk, here):
    answer = desk.post(reverse("receive"), BODY | {"join": "yes"}, follow=True)
    assert answer.redirect_chain == [(reverse("job", args=[here]), 302)]
    assert f"Job {here} is added to." in answer.content.decode()
    assert Job.objects.get().complaint == "Σφυρίζει"


def test_a_unit_that_is_not_here_is_offered_nothing(desk):
    assert "Add it to job" not in desk.get(reverse("receive")).content.decode()
    desk.post(reverse("receive"), BODY)
    assert Job.objects.get().cover == "on"


def test_a_unit_arrives_open(desk):
    assert "It arrived open, cover off" in desk.get(reverse("receive")).content.decode()
    desk.post(reverse("receive"), BODY | {"arrived_open": "on"})
    assert Job.objects.get().cover == "off"
