"""A unit that is announced: the link is passed on, the customer fills it, one press receives it."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.customers.announced import queries, services
from shop.customers.announced.models import Announcement
from shop.jobs.models import Job
from tests.browser.conftest import faults_of, journey

SHARED = "navigator.share = (what) => { window.shared = what; return Promise.resolve(); };"
NO_CLIPBOARD = "Object.defineProperty(navigator, 'clipboard', { value: undefined });"


@pytest.fixture
def asked(crew):
    """An announcement of which nobody has said more than a name."""
    return services.announce({"name": "Mirela"}, by=crew.technician, at=timezone.now())


@journey
def test_from_a_name_to_a_job(face, signed_in, live_server, crew, quiet, settings, browser):
    settings.ADDRESS = live_server.url
    signed_in.goto(f"{live_server.url}/receive/")
    signed_in.click("text=On its way, not here yet")
    signed_in.fill("[name=name]", "Mirela Dobson")
    signed_in.click("text=Announce it")
    signed_in.wait_for_url("**/announced/*/")
    assert faults_of(signed_in) == []
    link = signed_in.input_value("#address")

    theirs = browser.new_context(java_script_enabled=False).new_page()
    theirs.goto(link)
    theirs.fill("[name=make]", "Corvenby")
    theirs.fill("[name=complaint]", "Hums louder since the winter")
    theirs.click("text=Tell the shop")
    assert "Thank you" in theirs.inner_text("main")
    theirs.context.close()

    signed_in.goto(live_server.url)
    signed_in.click("text=It is here")
    assert signed_in.input_value("[name=make]") == "Corvenby"
    assert faults_of(signed_in) == []
    signed_in.click("[data-send]")
    signed_in.wait_for_url("**/jobs/*/")
    assert Announcement.objects.get().job_id == Job.objects.get().number


@pytest.mark.parametrize("without", ["", NO_CLIPBOARD], ids=["clipboard", "plain http"])
def test_the_link_is_copied_and_shared(signed_in, live_server, asked, without):
    signed_in.context.grant_permissions(["clipboard-read", "clipboard-write"])
    signed_in.add_init_script(SHARED + without)
    signed_in.goto(live_server.url + reverse("announcement", args=[asked.pk]))
    signed_in.get_by_role("button", name="Copy").click()
    signed_in.get_by_text("Copied.").wait_for()
    signed_in.goto(f"{live_server.url}/search/")
    signed_in.focus("[name=q]")
    signed_in.keyboard.press("Control+V")
    assert signed_in.input_value("[name=q]") == queries.address(asked)
    signed_in.goto(live_server.url + reverse("announcement", args=[asked.pk]))
    signed_in.get_by_role("button", name="Share").click()
    assert signed_in.evaluate("window.shared") == {"url": queries.address(asked)}


def test_where_nothing_can_be_shared_no_button_says_so(signed_in, live_server, asked):
    signed_in.add_init_script("delete Navigator.prototype.share;")
    signed_in.goto(live_server.url + reverse("announcement", args=[asked.pk]))
    assert signed_in.get_by_role("button", name="Copy").is_visible()
    assert not signed_in.get_by_role("button", name="Share").is_visible()


@journey
def test_the_customer_reads_the_terms_and_the_shop_its_list(
    face, signed_in, live_server, asked, settings, browser, shoot
):
    settings.ADDRESS, settings.TERMS = live_server.url, "Units are kept for a year.\nCash or card."
    settings.INSPECTION_FEE, settings.POSTAL_ADDRESS = 35, "4 Tin Lane"
    theirs = browser.new_context(
        java_script_enabled=False, viewport=signed_in.viewport_size
    ).new_page()
    theirs.goto(queries.address(asked))
    terms = theirs.get_by_text("the inspection costs 35.00 EUR")
    send = theirs.get_by_role("button", name="Tell the shop")
    assert terms.bounding_box()["y"] < send.bounding_box()["y"]
    assert theirs.evaluate("document.documentElement.scrollWidth <= innerWidth")
    shoot(theirs, "announce", full_page=True)
    theirs.context.close()
    signed_in.goto(live_server.url + reverse("announced"))
    shoot(signed_in, "announced", full_page=True)
