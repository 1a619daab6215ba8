"""Clocks in the browser: they count on, say that time is up, and ring when that was switched on."""

from __future__ import annotations

from playwright.sync_api import expect

from shop.timers.models import Timer
from tests.browser.conftest import journey
from tests.helpers import Bench, amplifier

HEARD = """
window.tones = 0;
const made = AudioContext.prototype.createOscillator;
AudioContext.prototype.createOscillator = function () { window.tones += 1; return made.call(this); };
"""


@journey
def test_a_clock_counts_down_and_rings(face, signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(facts=amplifier())
    signed_in.add_init_script(HEARD)
    signed_in.goto(f"{live_server.url}/jobs/{number}/")
    signed_in.get_by_text("Start a clock", exact=True).click()
    signed_in.locator(".start-clock [name=minutes]").fill("0.08")
    signed_in.get_by_role("button", name="Trial", exact=True).click()
    signed_in.get_by_role("button", name="Ring when time is up").click()
    clock = signed_in.locator(".clock")
    expect(clock).to_contain_text("Time is up", timeout=8000)
    assert signed_in.evaluate("window.tones") == 3
    signed_in.goto(live_server.url)
    signed_in.get_by_role("button", name="Stop trial").click()
    expect(clock).to_have_count(0)
    assert Timer.objects.get().stopped_at is not None


def test_nothing_sounds_unless_it_was_switched_on(signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(facts=amplifier())
    signed_in.add_init_script(HEARD)
    signed_in.goto(f"{live_server.url}/jobs/{number}/")
    signed_in.get_by_text("Start a clock", exact=True).click()
    signed_in.locator(".start-clock [name=minutes]").fill("0.02")
    signed_in.get_by_role("button", name="Trial", exact=True).click()
    expect(signed_in.locator(".clock")).to_contain_text("Time is up", timeout=8000)
    assert signed_in.evaluate("window.tones") == 0
