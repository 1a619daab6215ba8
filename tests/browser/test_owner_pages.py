"""What the owner alone sees: it fits its screen, shuts nobody out, and leads where it should."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from shop.pages.first_run import door
from shop.preferences import changing
from tests.browser.conftest import faults_of, journey, no_sideways_scrolling

NARROWEST = {"width": 320, "height": 640}


@pytest.fixture
def owner(page, live_server, crew, quiet):
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", "owner")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.wait_for_url(f"{live_server.url}/")
    return page


@journey
def test_the_owner_invites_somebody_who_then_signs_in(face, owner, live_server, browser):
    owner.goto(f"{live_server.url}/people/")
    owner.fill("[name=name]", "lou")
    owner.select_option("form[action='/people/invite/'] [name=role]", "desk")
    owner.click("button:text-is('Invite')")
    link = owner.inner_text("code.whole")
    assert faults_of(owner) == []
    theirs = browser.new_context().new_page()
    theirs.goto(link)
    theirs.fill("[name=password]", "four-words-of-bench")
    theirs.fill("[name=again]", "four-words-of-bench")
    assert faults_of(theirs) == []
    theirs.click("text=Keep it")
    theirs.fill("[name=username]", "lou")
    theirs.fill("[name=password]", "four-words-of-bench")
    theirs.click("button.go")
    theirs.wait_for_url(f"{live_server.url}/")
    theirs.context.close()
    owner.goto(f"{live_server.url}/people/")
    assert "lou, desk" in owner.inner_text(".people")


@journey
def test_settings_and_the_country(face, owner, live_server):
    owner.goto(f"{live_server.url}/settings/")
    assert faults_of(owner) == []
    for group in owner.locator(".setting-group > summary").all():
        group.click()
    no_sideways_scrolling(owner)
    assert faults_of(owner) == []
    owner.select_option("[name=country]", "US")
    owner.click("button.go")
    owner.wait_for_url("**/settings/country/")
    assert faults_of(owner) == []
    owner.uncheck("#take-practice")
    owner.click("text=Take what is ticked")
    owner.wait_for_url("**/settings/")
    assert owner.input_value("[name=currency]") == "USD"
    assert owner.input_value("[name=practice]") == "after-repair"


@pytest.mark.parametrize("path", ["/settings/", "/settings/country/", "/people/"])
def test_it_fits_when_it_is_made_larger(owner, live_server, path):
    changing.change({"country": "US"}, by="owner", at=timezone.now())
    owner.set_viewport_size(NARROWEST)
    owner.goto(live_server.url + path)
    no_sideways_scrolling(owner)


@journey
def test_an_empty_shop_is_set_up_and_home_comes_next(
    face, page, live_server, transactional_db, quiet, settings, tmp_path
):
    settings.DATA = tmp_path
    page.goto(f"{live_server.url}/first-run/{door.token()}/")
    assert faults_of(page) == []
    page.fill("[name=password]", "four-words-of-bench")
    page.fill("[name=again]", "four-words-of-bench")
    page.fill("[name=shop_name]", "Tin Lane")
    page.click("text=Open the shop")
    page.wait_for_url(f"{live_server.url}/")
    assert "Your shop is set up." in page.inner_text("main")
    assert User.objects.get().username == "owner"
