"""What an outlet measures stands in a field, and in the record with its name; it signs nothing."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.outlets import claims
from shop.outlets.models import Outlet
from tests.helpers import flat

pytestmark = pytest.mark.django_db


@pytest.fixture
def live(outlet, job, bench, people, now):
    claims.claim(outlet.pk, job, by=people.technician, at=now)
    bench.limited(job)
    return job


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def offered(hands, job):
    return hands.get(reverse("job-outlet", args=[job])).context["offers"]


def take(hands, job, offer, value=None):
    body = {"quantity": offer.quantity, "proof": offer.proof, "value": value or offer.value}
    return hands.post(reverse("job-outlet-reading", args=[job]), body)


def last(bench, job):
    return bench.job(job).ledger.order_by("-sequence").first()


def test_a_reading_is_recorded_with_the_outlet(hands, live, bench, report):
    report(watts=42.53, volts=230.1)
    watts, volts = offered(hands, live)
    assert (watts.quantity, watts.value, volts.quantity) == (
        "limited_idle_watts",
        "42.53",
        "mains_volts",
    )
    held = [s.key for s in bench.traveller(live).checklist.steps if s.stands]
    assert take(hands, live, watts).status_code == 302
    row = last(bench, live)
    assert row.event_type == "reading_taken"
    assert row.data["value"] == 42.53
    assert row.data["source"].startswith("measured at outlet B1, ")
    assert [s.key for s in bench.traveller(live).checklist.steps if s.stands] == held


def test_at_full_power_it_is_the_idle_power(hands, live, bench, report):
    bench.full(live)
    report(watts=38.0)
    assert [one.quantity for one in offered(hands, live)] == ["idle_watts"]


def test_a_figure_changed_by_hand_is_typed(hands, live, bench, report):
    report(watts=42.5)
    take(hands, live, offered(hands, live)[0], "24.5")
    assert last(bench, live).data["source"] == "typed beside outlet B1"


def test_a_proof_of_another_job_is_none(hands, live, bench, report, people, now):
    report(watts=42.5)
    [offer] = offered(hands, live)
    other = bench.receive()
    Outlet.objects.update(claimed_by_job=other)
    take(hands, other, offer)
    assert last(bench, other).data["source"] == "typed beside outlet B1"


def test_an_old_report_offers_nothing(hands, live, report):
    report(watts=42.5, ago=60)
    assert offered(hands, live) == []
    assert "Not known." in flat(hands.get(reverse("job-outlet", args=[live])).content.decode())


def test_nothing_is_offered_while_mains_is_off(hands, live, bench, report):
    report(watts=42.5)
    bench.power(live, "isolated")
    assert offered(hands, live) == []


@pytest.mark.parametrize("typed", ["", "much", "四十二", "1.2.3", "42 V"])
def test_what_is_no_number_is_said(hands, live, bench, report, typed):
    report(watts=42.5)
    [offer] = offered(hands, live)
    body = {"quantity": offer.quantity, "proof": offer.proof, "value": typed}
    answer = hands.post(reverse("job-outlet-reading", args=[live]), body)
    assert answer.status_code == 422
    assert "Power on the limiter" in answer.content.decode()
    assert last(bench, live).event_type != "reading_taken"


def test_a_quantity_of_its_own_is_refused(hands, live, report):
    body = {"quantity": "earth_ohms", "value": "0.1"}
    answer = hands.post(reverse("job-outlet-reading", args=[live]), body)
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "code", ["http://127.0.0.1:8000/outlets/{}/", "outlets/{}", " /outlets/{}/ "]
)
def test_a_label_claims(hands, outlet, job, code):
    body = {"code": code.format(outlet.pk)}
    assert hands.post(reverse("job-outlet-claim", args=[job]), body).status_code == 302
    outlet.refresh_from_db()
    assert outlet.claimed_by_job_id == job


@pytest.mark.parametrize("code", ["", "jobs/1", "outlets/999", "розетка", "x" * 401])
def test_another_code_does_not(hands, outlet, job, code):
    answer = hands.post(reverse("job-outlet-claim", args=[job]), {"code": code})
    assert answer.status_code == 422
    outlet.refresh_from_db()
    assert outlet.claimed_by_job_id is None


def test_the_label_of_an_outlet_opens_its_page(hands, outlet):
    answer = hands.get(reverse("scan"), {"code": f"http://127.0.0.1:8000/outlets/{outlet.pk}/"})
    assert answer["Location"] == reverse("outlet", args=[outlet.pk])
