"""What hands meet on the act card: focus, the live region, undo, and the keys of a desk."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PHONE
from tests.helpers import Bench, amplifier

FOCUSED = "document.activeElement.id || document.activeElement.tagName"


@pytest.fixture
def bench(crew):
    return Bench(crew.technician)


@pytest.fixture
def job(bench, signed_in, live_server):
    number = bench.receive(facts=amplifier())
    signed_in.goto(f"{live_server.url}/jobs/{number}/step/visual-intake/")
    return number


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_after_a_signature_focus_is_on_the_next_title_and_it_is_said(signed_in, job, size):
    signed_in.set_viewport_size(size)
    signed_in.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    signed_in.get_by_role("button", name="Done").click()
    expect(signed_in.locator(".said")).to_contain_text("Look, smell, shake: signed.")
    title = signed_in.locator("#act-title")
    expect(title).to_be_focused()
    expect(title).to_be_in_viewport()
    said = signed_in.locator("#changed[role=status][aria-live=polite]")
    expect(said).to_contain_text("Look, smell, shake: signed.")
    expect(said).to_contain_text(f"Now: {title.inner_text()}")


def test_undo_brings_the_step_back_and_says_so(signed_in, bench, job):
    signed_in.get_by_role("button", name="Done").click()
    signed_in.get_by_role("button", name="Undo").click()
    expect(signed_in.locator("#act-title")).to_have_text("Look, smell, shake")
    expect(signed_in.locator("#changed")).to_contain_text("Undone: Look, smell, shake.")
    assert bench.state(job, "visual-intake") == "due"


def test_the_button_goes_before_the_ten_seconds_are_over(signed_in, job):
    signed_in.get_by_role("button", name="Done").click()
    button = signed_in.get_by_role("button", name="Undo")
    expect(button).to_be_visible()
    expect(button).to_be_hidden(timeout=10_000)


def test_a_refusal_has_the_focus_and_the_live_region_is_silent(signed_in, bench, job, live_server):
    signed_in.goto(f"{live_server.url}/jobs/{job}/step/limited-idle-current/")
    signed_in.get_by_role("button", name="Done").click()
    refused = signed_in.locator("section.act .refused")
    expect(refused).to_be_focused()
    expect(signed_in.locator("#changed")).to_have_text("")


class TestKeys:
    @pytest.fixture(autouse=True)
    def desk(self, signed_in, job):
        signed_in.set_viewport_size(DESK)

    def test_s_and_f_move_the_focus_and_sign_nothing(self, signed_in, bench, job):
        signed_in.keyboard.press("s")
        expect(signed_in.get_by_role("button", name="Done")).to_be_focused()
        signed_in.keyboard.press("f")
        expect(signed_in.get_by_role("button", name="It failed")).to_be_focused()
        assert bench.state(job, "visual-intake") == "due"
        signed_in.keyboard.press("s")
        signed_in.keyboard.press("Enter")
        expect(signed_in.locator(".said")).to_contain_text("signed")
        assert bench.state(job, "visual-intake") == "signed"

    def test_they_rest_while_one_types(self, signed_in, job):
        signed_in.get_by_text("Add a note", exact=True).click()
        signed_in.locator("[name=note]").fill("")
        signed_in.locator("[name=note]").press_sequentially("wsn/?f")
        expect(signed_in.locator("[name=note]")).to_have_value("wsn/?f")
        expect(signed_in.locator("dialog")).to_have_count(0)

    def test_with_another_key_held_they_rest(self, signed_in):
        signed_in.locator("#act-title").focus()
        signed_in.keyboard.press("Alt+s")
        expect(signed_in.locator("#act-title")).to_be_focused()

    def test_n_w_and_search_lead_on(self, signed_in, job, live_server):
        signed_in.goto(f"{live_server.url}/jobs/{job}/")
        signed_in.locator("#side #write-title").wait_for()
        signed_in.keyboard.press("w")
        expect(signed_in.locator("#side #write-title")).to_be_focused()
        signed_in.keyboard.press("n")
        expect(signed_in.locator("#act-title")).to_be_focused()
        signed_in.keyboard.press("/")
        signed_in.wait_for_url("**/search/")
        expect(signed_in.locator("#q")).to_be_focused()

    def test_the_list_is_a_dialog_and_escape_closes_it(self, signed_in):
        signed_in.keyboard.press("?")
        dialog = signed_in.get_by_role("dialog", name="Keys")
        expect(dialog).to_contain_text("Go to the button that signs")
        signed_in.keyboard.press("s")
        expect(dialog).to_be_visible()
        signed_in.keyboard.press("Escape")
        expect(dialog).to_have_count(0)

    def test_turned_off_they_do_nothing(self, signed_in, job, live_server):
        signed_in.goto(f"{live_server.url}/keys/")
        signed_in.get_by_role("button", name="Turn keys off").click()
        signed_in.goto(f"{live_server.url}/jobs/{job}/step/visual-intake/")
        signed_in.keyboard.press("s")
        assert signed_in.evaluate(FOCUSED) == "BODY"

    def test_no_key_reaches_mains_or_the_cover(self, signed_in, bench, job, live_server):
        bench.clear(job, "limited")
        for path in ("", "list/"):
            signed_in.goto(f"{live_server.url}/jobs/{job}/{path}")
            keyed = signed_in.locator("button[data-key]").evaluate_all(
                "found => found.map(one => one.name + one.value)"
            )
            assert set(keyed) <= {"resultpass", "resultfail"}
