"""Journeys of the desk: the customer answers, pictures are taken, the unit leaves."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from shop.customers.links import keys
from shop.customers.links.models import CustomerLink
from shop.jobs import queries
from shop.jobs.models import Job
from shop.photos.models import Photo
from tests.browser.conftest import PHONE, faults_of, journey
from tests.helpers import Bench, amplifier
from tests.photos.pictures import from_a_telephone, picture

no_javascript = pytest.mark.browser_context_args(java_script_enabled=False)


@pytest.fixture
def bench(crew):
    return Bench(crew.technician)


def customer_page(page, live_server):
    """The customer's own browser, where nobody is signed in."""
    token = keys.token(CustomerLink.objects.get())
    # The page of the shop is left first: without its cookie it would lead to the sign-in page.
    page.goto("about:blank")
    page.context.clear_cookies()
    page.goto(f"{live_server.url}/your-unit/{token}/")


def draft_and_send(page, live_server, number):
    page.goto(f"{live_server.url}/jobs/{number}/estimate/")
    page.get_by_role("button", name="Draft an estimate").click()
    page.get_by_label("To the customer, in plain words").fill("The relay is worn. Ремонт 修理")
    page.locator("[name=line-0-words]").fill("Renew the relay")
    page.locator("[name=line-0-quantity]").fill("1.5")
    page.locator("[name=line-0-price]").fill("60")
    page.get_by_role("button", name=re.compile("Save and send")).click()
    expect(page.locator(".said")).to_contain_text("Version 1 of the estimate is sent")


@journey
def test_the_customer_asks_and_then_says_yes(face, signed_in, live_server, bench, quiet):
    page, number = signed_in, bench.receive(facts=amplifier())
    draft_and_send(page, live_server, number)
    page.goto(f"{live_server.url}/jobs/{number}/customer/")
    page.get_by_role("button", name="Make the link").click()

    customer_page(page, live_server)
    expect(page.locator("main")).to_contain_text("Yes, do it for 90.00 EUR")
    page.get_by_text("Ask a question first").click()
    page.get_by_label("Your question").fill("Is it safe meanwhile?")
    page.get_by_role("button", name="Ask it").click()
    expect(page.locator("main")).to_contain_text("Not answered yet")
    assert queries.record_of(bench.job(number)).asked
    bench.record(number, "question_replied", text="Yes, unplugged.")
    page.reload()
    expect(page.locator("main")).to_contain_text("Yes, unplugged.")
    page.get_by_role("button", name="Yes, do it").click()
    expect(page.locator("main")).to_contain_text("Agreed")
    assert queries.record_of(bench.job(number)).estimate == "yes"


@no_javascript
def test_the_customer_answers_without_javascript(page, live_server, crew):
    bench = Bench(crew.technician)
    number = bench.receive()
    bench.record(number, "note_added", text="x")
    keys.link_for(bench.job(number), now=bench.job(number).received_at)
    customer_page(page, live_server)
    page.get_by_label("Ask us something").fill("Hello?")
    page.get_by_role("button", name="Send it").click()
    assert queries.record_of(bench.job(number)).questions


def test_the_customer_answers_by_the_keyboard_alone(signed_in, live_server, bench, quiet):
    page, number = signed_in, bench.receive(facts=amplifier())
    draft_and_send(page, live_server, number)
    keys.link_for(bench.job(number), now=bench.job(number).received_at)
    customer_page(page, live_server)
    yes = page.get_by_role("button", name="Yes, do it")
    for _ in range(30):
        page.keyboard.press("Tab")
        if yes.evaluate("b => b === document.activeElement"):
            break
    assert yes.evaluate("b => getComputedStyle(b).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("Agreed")


@journey
def test_a_unit_is_released_and_shipped(face, signed_in, live_server, bench, quiet):
    page, number = signed_in, bench.receive(facts=amplifier())
    bench.soak(number)
    bench.power(number, "isolated")
    page.goto(f"{live_server.url}/jobs/{number}/list/")
    page.get_by_text("End the job", exact=True).click()
    page.get_by_role("button", name="Release it").click()
    expect(page.locator(".refused")).to_contain_text("Hold steps are not signed")
    bench.leave_gates(number)
    page.goto(f"{live_server.url}/jobs/{number}/list/")
    page.get_by_text("End the job", exact=True).click()
    page.get_by_role("button", name="Release it").click()
    page.locator("button[name=sure]").click()
    expect(page.locator(".said")).to_contain_text("The job is released.")
    assert Job.objects.get(pk=number).stage == "released"

    page.goto(f"{live_server.url}/jobs/{number}/papers/")
    paper = page.request.get(f"{live_server.url}/jobs/{number}/papers/release/a4/")
    assert paper.body().startswith(b"%PDF")
    page.goto(f"{live_server.url}/jobs/{number}/customer/")
    expect(page.locator("main")).to_contain_text("warranted until")
    page.get_by_label("Carrier").fill("North Post")
    page.get_by_role("button", name="It has left the house").click()
    expect(page.locator("main")).to_contain_text("Noted: it has left the house.")
    page.goto(f"{live_server.url}/jobs/{number}/customer/")
    expect(page.locator("main")).to_contain_text("with North Post")


def files(*made):
    return [{"name": name, "mimeType": "image/jpeg", "buffer": raw} for name, raw in made]


@journey
def test_pictures_go_up_one_by_one_and_make_a_pair(face, signed_in, live_server, bench, quiet):
    page, number = signed_in, bench.receive(facts=amplifier())
    page.goto(f"{live_server.url}/jobs/{number}/photos/")
    page.get_by_label("Caption").fill("The relay")
    chosen = files(("a.jpg", from_a_telephone()), ("b.heic", picture("HEIF")))
    page.locator("#photo").set_input_files(chosen)
    page.get_by_role("button", name="Keep them").click()
    expect(page.locator("figure")).to_have_count(2)
    pair = page.locator(".pair").first
    pair.locator("input[type=file]").set_input_files(files(("c.jpg", picture(colour="blue"))))
    pair.get_by_role("button", name="Keep it").click()
    expect(page.locator("figcaption", has_text="After")).to_have_count(1)
    assert Photo.objects.filter(before__isnull=False).count() == 1


def test_a_picture_that_is_none_is_named_and_the_other_is_kept(
    signed_in, live_server, bench, quiet
):
    page, number = signed_in, bench.receive()
    page.goto(f"{live_server.url}/jobs/{number}/photos/")
    page.locator("#photo").set_input_files(files(("ok.jpg", picture()), ("x.svg", b"<svg/>")))
    page.get_by_role("button", name="Keep them").click()
    expect(page.locator(".going")).to_contain_text("1 kept. 'x.svg'")
    assert Photo.objects.count() == 1
    assert faults_of(page) == []


def test_a_call_is_taken_down_without_the_rest(signed_in, live_server, quiet):
    page = signed_in
    page.goto(f"{live_server.url}/receive/")
    page.get_by_label("Make").fill("Corvenby")
    page.get_by_label("What the customer says").fill("No sound on the left")
    page.get_by_label("Customer", exact=True).fill("Ada")
    page.get_by_label("Telephone").fill("0815")
    page.get_by_role("button", name="Receive it").click()
    expect(page.locator(".said")).to_contain_text("is open.")
    assert Job.objects.get().intake.customer.phone == "0815"


@no_javascript
def test_pictures_without_javascript(page, live_server, crew):
    number = Bench(crew.technician).receive()
    page.goto(f"{live_server.url}/sign-in/?next=/jobs/{number}/photos/")
    page.fill("[name=username]", "technician")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.locator("#photo").set_input_files(files(("a.jpg", picture()), ("b.jpg", picture())))
    page.get_by_role("button", name="Keep them").click()
    expect(page.locator("figure")).to_have_count(2)


def test_the_menu_opens_by_the_keyboard(signed_in, live_server):
    more = signed_in.locator(".top-bar .more summary")
    more.focus()
    signed_in.keyboard.press("Enter")
    signed_in.keyboard.press("Tab")
    signed_in.keyboard.press("Enter")
    expect(signed_in.get_by_role("heading", level=1)).to_have_text("Parts")


def test_a_search_finds_while_it_is_typed(signed_in, live_server, bench, quiet):
    bench.receive(make="Corvenby", complaint="Hums")
    signed_in.goto(f"{live_server.url}/search/")
    signed_in.keyboard.type("korvenby")
    expect(signed_in.locator("#found")).to_contain_text("No entry has")
    expect(signed_in.locator("#found")).to_contain_text("Corvenby")


@journey
def test_a_unit_comes_in_part_by_part(face, signed_in, live_server, quiet, shoot):
    page = signed_in
    page.goto(f"{live_server.url}/receive/")
    narrow = page.viewport_size == PHONE
    for title in ("Complaint and marks", "Customer", "Arrival and pictures"):
        assert page.get_by_role("heading", name=title, exact=True).is_visible() != narrow
    page.get_by_label("Make").fill("Corvenby")
    page.get_by_text("From the rating plate", exact=False).click()
    page.get_by_label("year", exact=False).first.fill("19x4")
    if narrow:
        page.get_by_role("button", name="Next: complaint").click()
        expect(page.get_by_role("heading", name="Complaint and marks")).to_be_focused()
        page.get_by_role("button", name="Next: customer").click()
        page.get_by_role("button", name="Next: arrival").click()
    page.locator("#photo").set_input_files(files(("a.jpg", picture())))
    page.get_by_role("button", name="Receive it").click()
    expect(page.locator(".refused")).to_contain_text("Nothing you typed is lost")
    page.locator(".refused a").click()
    expect(page.locator("[aria-invalid=true]")).to_be_focused()
    shoot(page, "receive-refused")
    page.locator("[aria-invalid=true]").fill("1984")
    page.get_by_role("button", name="Receive it").click()
    expect(page.locator(".said")).to_contain_text("is open.")
    assert Photo.objects.count() == 1


@no_javascript
def test_without_javascript_all_parts_stand_on_one_page(page, live_server, crew):
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/sign-in/?next=/receive/")
    page.fill("[name=username]", "technician")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    for title in ("Unit", "Complaint and marks", "Customer", "Arrival and pictures"):
        expect(page.get_by_role("heading", name=title, exact=True)).to_be_visible()
    assert page.locator("form.receive .hands button:visible").all_inner_texts() == ["Receive it"]
