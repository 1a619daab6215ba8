"""The card in the browser: read aloud on request, and pictures sent as they are taken."""

from __future__ import annotations

from playwright.sync_api import expect

from shop.photos.models import Photo
from tests.helpers import Bench, amplifier
from tests.photos.pictures import picture

# A headless browser has no voices: what would be said is kept.
VOICE = """
window.said = [];
window.SpeechSynthesisUtterance = function (text) { this.text = text; };
Object.defineProperty(window, "speechSynthesis", {
  value: { cancel() {}, speak(one) { window.said.push(one.text); } },
});
"""


def test_the_card_is_read_in_its_own_words_and_only_when_asked(signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(facts=amplifier())
    signed_in.add_init_script(VOICE)
    signed_in.goto(f"{live_server.url}/jobs/{number}/step/limited-idle-current/")
    title = signed_in.locator("#act-title").inner_text()
    assert signed_in.evaluate("window.said") == []
    button = signed_in.get_by_role("button", name="Read aloud")
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    [said] = signed_in.evaluate("window.said")
    assert said.startswith(f"{title}. ")
    signed_in.reload()
    expect(button).to_have_attribute("aria-pressed", "true")
    button.click()
    expect(button).to_have_attribute("aria-pressed", "false")


def test_a_picture_is_sent_as_soon_as_it_is_taken(signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(facts=amplifier())
    signed_in.goto(f"{live_server.url}/jobs/{number}/step/limited-idle-current/")
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    signed_in.locator(".take input[type=file]").set_input_files(file)
    expect(signed_in.locator(".said")).to_contain_text("1 picture kept")
    assert Photo.objects.get().step == "limited-idle-current"
