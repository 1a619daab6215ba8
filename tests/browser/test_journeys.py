from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from shop.jobs.models import Job
from shop.reminders import services as reminder_services
from tests.browser.conftest import PHONE, journey, no_sideways_scrolling
from tests.factories import OfferFactory
from tests.helpers import Bench, amplifier

no_javascript = pytest.mark.browser_context_args(java_script_enabled=False)


@journey
def test_a_unit_is_received(face, signed_in, live_server):
    signed_in.get_by_role("link", name="Receive", exact=True).click()
    signed_in.wait_for_url("**/receive/")  # whole: a script parts the form on a phone
    signed_in.get_by_label("Make").fill("Corvenby")
    signed_in.get_by_label("Kind of unit").select_option("cassette-deck")
    forward = signed_in.get_by_role("button", name="Next: complaint")
    if forward.is_visible():
        forward.click()
    signed_in.get_by_label("What the customer says").fill("Пищит, 嗡嗡")
    signed_in.get_by_label("mechanical").check()
    signed_in.get_by_role("button", name="Receive it").click()

    expect(signed_in.get_by_role("heading", level=1)).to_have_text("Corvenby")
    expect(signed_in.locator(".said")).to_contain_text("is open.")
    assert Job.objects.get().complaint == "Пищит, 嗡嗡"
    no_sideways_scrolling(signed_in)


IDLE = "Idle current and rail symmetry"
READ = {"set_volts": "230"}


def fill_in(card: Locator) -> None:
    """Type what is read at the steps of an amplifier that has not been opened."""
    for name, value in READ.items():
        field = card.locator(f"[name$='reading-{name}']")
        if field.count():
            field.fill(value)


def sign_next(page: Page) -> None:
    card = page.locator("section.act")
    fill_in(card)
    title = card.locator("h2").inner_text()
    card.get_by_role("button", name="Done").click()
    expect(page.locator(".said")).to_contain_text(title)


def ask_for_limited_mains(page: Page, address: str) -> None:
    """Ask for it by hand, whatever the next act is."""
    page.goto(f"{address}list/")
    page.get_by_text("Mains, cover, stage", exact=True).click()
    page.get_by_role("button", name="Mains on: limited").click()


@journey
def test_mains_is_refused_then_granted_and_taken_off(face, signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(make="Halvenholt", facts=amplifier())
    address = f"{live_server.url}/jobs/{number}/"
    ask_for_limited_mains(signed_in, address)
    refused = signed_in.locator(".refused")
    expect(refused).to_contain_text("Hold steps are not signed")
    assert Job.objects.get(pk=number).power == "isolated"

    refused.get_by_role("link").first.click()
    expect(signed_in.locator("section.act")).to_contain_text("hold point")
    signed_in.goto(address)
    while signed_in.locator("#sign-form").count():
        sign_next(signed_in)
    ask_for_limited_mains(signed_in, address)
    strip = signed_in.locator(".live-units")
    expect(strip).to_contain_text(re.compile("mains on: limited", re.IGNORECASE))
    expect(signed_in.locator("#mains-title")).to_contain_text("mains on: limited")
    no_sideways_scrolling(signed_in)

    signed_in.goto(f"{live_server.url}/jobs/")
    strip.get_by_role("button", name=f"Record: plug of {number} is out, I see it").click()
    expect(signed_in.locator(".live-units")).to_have_count(0)
    expect(signed_in).to_have_url(f"{live_server.url}/jobs/")
    assert Job.objects.get(pk=number).power == "isolated"


def test_the_way_to_take_mains_off_is_in_sight_wherever_one_has_scrolled(
    signed_in, live_server, crew
):
    bench = Bench(crew.technician)
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    signed_in.set_viewport_size(PHONE)
    for path in ("/rules/", f"/jobs/{number}/unit/", "/calculators/"):
        signed_in.goto(live_server.url + path)
        signed_in.evaluate("window.scrollTo(0, document.body.scrollHeight)")
        button = signed_in.get_by_role("button", name=f"Record: plug of {number}")
        expect(button).to_be_in_viewport(ratio=1)


def test_a_unit_that_gets_mains_elsewhere_shows_on_a_page_that_stays_open(
    signed_in, live_server, crew
):
    bench = Bench(crew.technician)
    number = bench.receive(facts=amplifier())
    signed_in.clock.install()
    signed_in.goto(f"{live_server.url}/calculators/")
    expect(signed_in.locator(".live-units")).to_have_count(0)
    bench.limited(number)
    signed_in.clock.run_for(16_000)
    expect(signed_in.locator(".live-units")).to_contain_text(str(number))


def at_the_idle_step(bench: Bench, page: Page, address: str) -> Locator:
    """A unit on the limiter, and the card of the step that reads its idle current."""
    number = bench.receive(facts=amplifier())
    bench.pass_gate(number, "first-power")
    bench.open_up(number)
    bench.limited(number)
    page.goto(f"{address}/jobs/{number}/step/limited-idle-current/")
    return page.locator("section.act")


def test_a_reading_outside_fails_the_step_and_takes_the_mains(signed_in, live_server, crew):
    bench = Bench(crew.technician)
    card = at_the_idle_step(bench, signed_in, live_server.url)
    card.locator("[name=reading-limiter_percent]").fill("15")
    card.locator("[name=reading-rail_difference_percent]").fill("44")
    card.get_by_role("button", name="Done").click()

    expect(signed_in.locator(".said")).to_contain_text("a reading lies outside its limit")
    assert bench.state(Job.objects.get().number, "limited-idle-current") == "failed"


def test_what_was_typed_survives_a_bad_reading(signed_in, live_server, crew):
    card = at_the_idle_step(Bench(crew.technician), signed_in, live_server.url)
    card.locator("[name=reading-rail_difference_percent]").fill("1.5.2")
    card.get_by_text("Add a note", exact=True).click()
    card.locator("[name=note]").fill("left lower")
    card.get_by_role("button", name="Done").click()

    expect(card.locator(".refused")).to_contain_text("is no number")
    expect(card.locator("[name=reading-rail_difference_percent]")).to_have_value("1.5.2")
    expect(card.locator("[name=note]")).to_have_value("left lower")


def test_work_written_down_brings_its_steps(signed_in, live_server, crew):
    bench = Bench(crew.technician)
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    of_the_work = f"/jobs/{number}/step/insulator-isolation/"
    assert bench.traveller(number).checklist.by_key.get("insulator-isolation") is None

    signed_in.goto(f"{live_server.url}/jobs/{number}/write/")
    signed_in.locator("main").get_by_role("link", name="Work", exact=True).click()
    form = signed_in.locator("form[action$='record/work_done/']")
    form.get_by_label("Work").select_option("thermal-interface-renewed")
    form.get_by_role("button", name="Record work done").click()

    expect(signed_in.locator(".said")).to_contain_text("work done")
    signed_in.goto(live_server.url + of_the_work)
    expect(signed_in.locator("section.act h2")).to_contain_text("tab to the heat sink")


@no_javascript
def test_the_core_journey_without_javascript(page, live_server, crew):
    bench = Bench(crew.technician)
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", "technician")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.goto(f"{live_server.url}/receive/")
    page.fill("[name=make]", "Plain")
    page.get_by_role("button", name="Receive it").click()
    number = Job.objects.get().number
    for name, value in amplifier().items():
        bench.record(number, "fact_recorded", name=name, value=value)

    page.goto(f"{live_server.url}/jobs/{number}/")
    while page.locator("#sign-form").count():
        fill_in(page.locator("section.act"))
        page.locator("section.act").get_by_role("button", name="Done").click()
    ask_for_limited_mains(page, f"{live_server.url}/jobs/{number}/")
    assert Job.objects.get(pk=number).power == "limited"
    page.locator(".live-units").get_by_role("button").click()
    assert Job.objects.get(pk=number).power == "isolated"
    page.goto(f"{live_server.url}/jobs/{number}/write/")
    page.locator("main").get_by_role("link", name="Finding", exact=True).click()
    form = page.locator("form[action$='record/finding_recorded/']")
    form.locator("[name=finding]").select_option("joint-cracked")
    form.get_by_role("button").click()
    assert bench.traveller(number).record.facts["findings"] == ["joint-cracked"]


def test_the_list_filters_in_place(signed_in, live_server, crew):
    bench = Bench(crew.technician)
    first, second = bench.receive(make="First"), bench.receive(make="Second")
    bench.stage(first, "reproducing")
    signed_in.goto(f"{live_server.url}/jobs/")
    expect(signed_in.locator("tbody tr")).to_have_count(2)
    signed_in.get_by_label("Stage").select_option("reproducing")
    expect(signed_in.locator("tbody tr")).to_have_count(1)
    expect(signed_in.locator("tbody")).to_contain_text("First")
    assert second


def test_the_keyboard_alone_signs_a_step(signed_in, live_server, crew):
    bench = Bench(crew.technician)
    number = bench.receive(facts=amplifier())
    signed_in.goto(f"{live_server.url}/jobs/{number}/")
    button = signed_in.locator("section.act").get_by_role("button", name="Done")
    for _ in range(60):
        signed_in.keyboard.press("Tab")
        if button.evaluate("b => b === document.activeElement"):
            break
    signed_in.keyboard.press("Enter")
    expect(signed_in.locator(".said")).to_contain_text("Look, smell, shake: signed.")


@journey
def test_an_owner_writes_and_publishes_a_house_rule(face, page, live_server, crew, quiet, shoot):
    bench = Bench(crew.technician)
    number = bench.receive(make="Ravelund", facts=amplifier())
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", "owner")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.goto(f"{live_server.url}/house-rules/write/")
    page.locator("[name=fact0]").select_option("unit.rail_volts")
    page.locator("[name=operation0]").select_option("above")
    page.locator("[name=value0]").fill("70")
    page.get_by_text("A step of your own", exact=True).click()
    page.locator("[name=step_title]").fill("Gloves on")
    page.locator("[name=step_instruction]").fill("Gloves on before the cover comes off.")
    page.locator("[name=step_gate]").select_option("open-up")
    page.locator("[name=id]").fill("gloves")
    page.locator("[name=because]").fill("High rails: {unit.rail_volts}.")
    page.get_by_role("button", name="Look what it touches").click()
    expect(page.locator("section.next")).to_contain_text("unit.rail_volts > 70.0")
    expect(page.locator("section.next")).to_contain_text("Ravelund")
    shoot(page, "house-look", full_page=True)
    page.get_by_role("button", name="Keep it in the draft").click()
    expect(page.locator("section.draft-rule")).to_contain_text("+ house-gloves")
    shoot(page, "house-draft")
    page.get_by_role("button", name="Publish draft 1").click()
    expect(page.locator(".said")).to_contain_text("in force")
    assert "house-gloves" in [s.key for s in bench.traveller(number).checklist.gate("open-up")]


@journey
def test_from_a_finding_to_a_basket_to_the_parcel(face, signed_in, live_server, crew):
    """One tap notes the need, the basket orders it, the parcel makes the unit ready."""
    bench = Bench(crew.technician)
    offer = OfferFactory(part__spec="Relay 24 V", supplier__name="North")
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    bench.record(number, "finding_recorded", finding="relay-contacts-abraded")
    signed_in.goto(f"{live_server.url}/jobs/{number}/parts/")
    signed_in.get_by_role("button", name="For relay contacts abraded").click()
    expect(signed_in.locator(".said")).to_contain_text("part needed")
    bench.stage(number, "awaiting_parts")

    signed_in.goto(f"{live_server.url}/backlog/")
    signed_in.get_by_role("link", name="say which part").click()
    signed_in.get_by_label("Part").select_option(label="Relay 24 V")
    signed_in.get_by_role("button", name="This is it").click()
    expect(signed_in.get_by_role("heading", level=1)).to_have_text("Relay 24 V")

    signed_in.goto(f"{live_server.url}/backlog/order/")
    expect(signed_in.locator("section.next")).to_contain_text("this is the cheapest basket")
    signed_in.get_by_role("button", name="Note as ordered").click()
    expect(signed_in.locator(".said")).to_contain_text("from North: expected")

    signed_in.locator(".parcel a").first.click()
    signed_in.get_by_role("button", name="These arrived").click()
    expect(signed_in.locator(".said")).to_contain_text(f"Taken in for job {number}.")

    signed_in.goto(f"{live_server.url}/")
    quick = signed_in.locator("section", has=signed_in.locator("#quick-title"))
    expect(quick).to_contain_text("Back on the bench: its parts are here")
    assert offer.part.stock.get().reserved == 1


@journey
def test_a_reminder_is_snoozed_with_a_reason(face, signed_in, live_server, crew):
    bench = Bench(crew.technician)
    number = bench.receive(facts=amplifier())
    Job.objects.filter(pk=number).update(due_at=timezone.now() - timedelta(hours=1))
    reminder_services.remind(now=timezone.now())
    signed_in.goto(f"{live_server.url}/reminders/")
    expect(signed_in.locator("article.snooze")).to_contain_text("nothing has happened")
    signed_in.get_by_text("Snooze", exact=True).first.click()
    signed_in.get_by_label("Snooze for").select_option("a week")
    signed_in.get_by_label("Because").fill("the customer is away")
    signed_in.get_by_role("button", name="Snooze").click()
    expect(signed_in.locator(".said")).to_contain_text("is snoozed until")
    expect(signed_in.locator("main")).to_contain_text("the customer is away")
    expect(signed_in.locator("article.snooze")).to_have_count(0)
    no_sideways_scrolling(signed_in)


def test_the_finish_is_told_on_the_sheet(signed_in, live_server, crew):
    number = Bench(crew.technician).receive(facts=amplifier())
    signed_in.goto(f"{live_server.url}/jobs/{number}/unit/")
    expect(signed_in.locator(".clip")).to_contain_text("Too few closed jobs to tell a date")
