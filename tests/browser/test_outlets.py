"""The pages of outlets: they fit, shut nobody out, and say aloud what an outlet sees."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from shop.outlets import queries
from shop.outlets.models import COMMISSIONED, UNDER_TEST, Outlet, Report
from shop.preferences import changing
from tests.browser.conftest import PHONE, faults_of, no_sideways_scrolling
from tests.helpers import Bench, amplifier

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NARROWEST = {"width": 320, "height": 640}


@pytest.fixture
def claimed(crew, monkeypatch):
    """An outlet that delivers power to a unit that is recorded as off, and one under test."""
    # However long a busy machine takes.
    monkeypatch.setattr(queries, "STALE", timedelta(hours=1))
    changing.change({"outlets": "yes"}, by="", at=timezone.now())
    job = Bench(crew.technician).receive(facts=amplifier())
    outlet = Outlet.objects.create(
        name="B1", kind="modbus", host="b1", port=502, use=COMMISSIONED, claimed_by_job_id=job
    )
    Outlet.objects.create(name="B2", kind="modbus", host="b2", port=502, use=UNDER_TEST)
    Report.objects.create(outlet=outlet, at=timezone.now(), watts=42.5, volts=230.1, closed=True)
    return outlet


def sign_in(page, live_server, name):
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", name)
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.wait_for_selector("form.who")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_fit_and_shut_nobody_out(page, live_server, crew, claimed, quiet, scheme):
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size(PHONE)
    sign_in(page, live_server, "owner")
    other = Outlet.objects.get(name="B2")
    for path in (
        "/outlets/",
        f"/outlets/{claimed.pk}/",
        f"/outlets/{claimed.pk}/label/",
        f"/outlets/{claimed.pk}/commissioning/",
        f"/outlets/{other.pk}/commissioning/",
        f"/jobs/{claimed.claimed_by_job_id}/outlet/",
    ):
        page.goto(live_server.url + path)
        no_sideways_scrolling(page)
        assert page.locator("h1").count() == 1, path
        assert faults_of(page) == [], path
        page.set_viewport_size(NARROWEST)
        no_sideways_scrolling(page)
        page.set_viewport_size(PHONE)


def test_power_that_flows_is_told_and_one_tap_makes_the_unit_live(
    page, live_server, crew, claimed, quiet
):
    sign_in(page, live_server, "technician")
    number = claimed.claimed_by_job_id
    page.goto(f"{live_server.url}/calculators/")
    assert "B1 delivers power" in page.inner_text("#live-units")
    page.click(f"text=The plug of {number} is in, or I am not sure")
    page.wait_for_selector("text=Pull the plug")
    assert "delivers power" not in page.inner_text("#live-units")
