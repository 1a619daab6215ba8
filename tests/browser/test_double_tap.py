"""A button that is tapped twice writes once."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from shop.jobs.models import Job, LedgerRow
from tests.helpers import Bench, amplifier

# How many of two presses are sent; none is, so that the page stays.
PRESSED_TWICE = """which => {
  const form = document.querySelector(which);
  let sent = 0;
  const count = event => { sent += event.defaultPrevented ? 0 : 1; event.preventDefault(); };
  window.addEventListener("submit", count);
  form.requestSubmit();
  form.requestSubmit();
  window.removeEventListener("submit", count);
  return sent;
}"""


@pytest.fixture
def bench(crew):
    return Bench(crew.technician)


def test_a_note_tapped_twice_is_one_row(signed_in, live_server, bench):
    number = bench.receive(facts=amplifier())
    signed_in.goto(f"{live_server.url}/jobs/{number}/write/?what=note_added")
    form = signed_in.locator("form[action$='record/note_added/']")
    form.locator("textarea").fill("Rang twice")
    form.get_by_role("button").dblclick()
    signed_in.wait_for_timeout(1500)
    assert LedgerRow.objects.filter(job_id=number, event_type="note_added").count() == 1


def test_a_trial_tapped_twice_is_one_row(signed_in, live_server, bench):
    number = bench.receive(facts=amplifier(complaint__intermittent=True))
    signed_in.goto(f"{live_server.url}/jobs/{number}/trials/")
    form = signed_in.locator("form[action$='record/trial_run/']")
    form.get_by_role("button", name="Clean").dblclick()
    signed_in.wait_for_timeout(1500)
    assert LedgerRow.objects.filter(job_id=number, event_type="trial_run").count() == 1


def test_mains_off_is_sent_each_time(signed_in, live_server, bench):
    number = bench.receive(facts=amplifier())
    bench.clear(number, "limited")
    bench.power(number, "limited")
    signed_in.goto(f"{live_server.url}/")
    assert signed_in.evaluate(PRESSED_TWICE, f"form[action='/jobs/{number}/power/']") == 2
    assert signed_in.evaluate(PRESSED_TWICE, "form[action='/sign-out/']") == 1


def test_a_unit_received_twice_is_one_job(signed_in, live_server):
    signed_in.get_by_role("link", name="Receive", exact=True).click()
    signed_in.get_by_label("Make").fill("Corvenby")
    signed_in.get_by_role("button", name="Receive it").dblclick()
    expect(signed_in.get_by_role("heading", level=1)).to_have_text("Corvenby")
    signed_in.wait_for_timeout(1500)
    assert Job.objects.count() == 1
