"""The line of live units: on every page, and never silent when nobody can tell."""

from __future__ import annotations

import pytest
from django.db import OperationalError
from django.urls import reverse

from shop.jobs.live_units import live_units
from shop.jobs.models import Job
from tests.helpers import flat

pytestmark = pytest.mark.django_db

UNREAD = "Treat every unit as live."


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def live(bench, job):
    bench.limited(job)
    return job


@pytest.mark.parametrize("name", ["home", "jobs", "calculators", "rules", "account"])
def test_every_page_says_which_unit_is_live_and_has_the_button(hands, live, name):
    page = flat(hands.get(reverse(name)).content.decode())
    assert "Mains on: limited" in page
    assert f"Record: plug of {live} is out, I see it" in page


def test_a_unit_without_mains_is_not_on_it(hands, job):
    assert "live-unit " not in hands.get(reverse("jobs")).content.decode()


def test_a_plug_that_has_to_come_out_is_on_it(hands, bench, live):
    bench.record(live, "finding_recorded", finding="insulation-damaged")
    assert bench.job(live).power == "isolated"
    page = flat(hands.get(reverse("jobs")).content.decode())
    assert "Pull the plug" in page


def test_a_database_that_does_not_answer_is_no_unit_off_mains(monkeypatch):
    monkeypatch.setattr("shop.jobs.live_units._LIVE", _locked)
    found = live_units()
    assert found.unread
    assert found.jobs == []


def test_the_page_says_so(hands, monkeypatch):
    monkeypatch.setattr("shop.jobs.live_units._LIVE", _locked)
    assert UNREAD in flat(hands.get(reverse("account")).content.decode())


def _locked(now):
    raise OperationalError("database is locked")


def test_nothing_is_sent_while_nothing_has_changed(hands, bench, live):
    seen = live_units().mark
    path = reverse("live-units")
    assert hands.get(path, {"seen": seen}).status_code == 204
    bench.power(live, "isolated")
    after = hands.get(path, {"seen": seen})
    assert after.status_code == 200
    assert "Record: plug" not in after.content.decode()


def test_the_button_leads_back_to_the_page_it_stood_on(hands, live):
    body = {"to": "isolated", "next": "back"}
    came_from = {"Referer": "http://testserver/parts/?q=relay"}
    answer = hands.post(reverse("power", args=[live]), body, headers=came_from)
    assert answer["Location"] == "/parts/?q=relay"
    assert Job.objects.get(pk=live).power == "isolated"


@pytest.mark.parametrize("elsewhere", ["", "http://elsewhere.example/jobs/", "javascript:alert(1)"])
def test_it_leads_nowhere_else(hands, live, elsewhere):
    body = {"to": "isolated", "next": "back"}
    headers = {"Referer": elsewhere}
    answer = hands.post(reverse("power", args=[live]), body, headers=headers)
    assert answer["Location"] == reverse("job", args=[live])


def test_strangers_are_told_nothing(client, live):
    assert "Mains on" not in client.get("/sign-in/").content.decode()
