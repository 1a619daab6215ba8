"""What every page says when power flows although the record says that the plug is out."""

from __future__ import annotations

import pytest
from django.db import OperationalError
from django.urls import reverse
from django.utils import timezone

from shop.jobs.live_units import live_units
from shop.jobs.models import Job
from shop.outlets import claims
from shop.outlets.models import Outlet
from shop.outlets.queries import notices
from shop.preferences import changing
from tests.helpers import flat

pytestmark = pytest.mark.django_db
PAGES = ["home", "jobs", "calculators", "rules", "account"]


@pytest.fixture
def claimed(outlet, job, people, now):
    claims.claim(outlet.pk, job, by=people.technician, at=now)
    return outlet


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def said():
    return [notice.sentence for notice in notices(timezone.now())]


@pytest.mark.parametrize("name", PAGES)
def test_every_page_says_it_and_has_the_button(hands, claimed, report, job, name):
    report(watts=42.5, volts=230.1)
    page = flat(hands.get(reverse(name)).content.decode())
    assert "Power flows" in page
    assert "is recorded as plug out, but B1 delivers power" in page
    assert f"The plug of {job} is in, or I am not sure" in page


@pytest.mark.parametrize("ago", [16, 3600, -60])
def test_an_old_report_and_one_of_tomorrow_are_not_known(claimed, report, ago):
    report(watts=0.0, ago=ago)
    assert "is not known" in said()[0]
    report(watts=42.5, ago=ago)
    assert "is not known" in said()[0]


def test_a_report_that_never_came_is_not_known(hands, claimed):
    page = flat(hands.get(reverse("jobs")).content.decode())
    assert "Not known" in page
    assert "no power" not in page.lower()


def test_a_report_without_watts_is_not_known(claimed, report):
    report(volts=230.0)
    assert "is not known" in said()[0]


def test_a_meter_that_counts_backwards_tells_of_power_too(claimed, report):
    report(watts=-42.5)
    assert "delivers power" in said()[0]


def test_nothing_is_said_where_nothing_flows_and_nothing_says_no_power(hands, claimed, report, job):
    report(watts=0.2)
    assert said() == []
    page = flat(hands.get(reverse("job-outlet", args=[job])).content.decode())
    assert "That says nothing about the plug" in page


def test_mains_on_in_the_record_is_no_news(claimed, report, bench, job):
    bench.limited(job)
    report(watts=42.5)
    assert said() == []


def test_a_job_that_claims_nothing_is_not_spoken_of(outlet, report):
    report(watts=42.5)
    assert said() == []


def test_a_closed_job_is_not_spoken_of(claimed, report, job, now):
    Job.objects.filter(pk=job).update(closed_at=now, stage="withdrawn")
    report(watts=42.5)
    assert said() == []


def test_a_contactor_that_is_closed_without_an_enable_is_told(claimed, report, bench, job):
    bench.limited(job)
    report(watts=42.5, enabled=False, closed=True)
    assert "may be welded" in said()[0]


def test_a_shop_without_outlets_asks_nothing(db, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert notices(timezone.now()) == []


def test_nothing_is_on_the_pages_of_a_shop_without_outlets(hands, job):
    for name, args in (("home", []), ("job", [job]), ("ledger", [job])):
        assert "utlet" not in hands.get(reverse(name, args=args)).content.decode()


def test_the_pages_are_in_the_menu_once_it_is_decided(hands, set_up, job):
    assert reverse("outlets") in hands.get(reverse("home")).content.decode()
    assert (
        reverse("job-outlet", args=[job])
        in hands.get(reverse("ledger", args=[job])).content.decode()
    )
    changing.change({"outlets": "no"}, by="", at=timezone.now())
    assert reverse("outlets") not in hands.get(reverse("home")).content.decode()


def test_the_line_is_drawn_anew_when_power_begins_to_flow(hands, claimed, report):
    report(watts=0.0)
    seen = live_units().mark
    report(watts=20.0)
    before = live_units().mark
    report(watts=21.0)
    assert seen != before == live_units().mark
    assert hands.get(reverse("live-units"), {"seen": seen}).status_code == 200


def test_a_database_that_cannot_be_read_is_no_outlet_without_power(monkeypatch, claimed):
    def locked(*_):
        raise OperationalError

    monkeypatch.setattr("shop.outlets.queries.outlets", locked)
    assert live_units().unread


def test_a_doubted_plug_is_live_and_the_notice_is_gone(hands, claimed, report, job, bench):
    report(watts=42.5)
    hands.post(reverse("plug", args=[job]))
    assert bench.job(job).unplug_due or bench.job(job).energised
    assert said() == []
    assert Outlet.objects.get().claimed_by_job_id == job
