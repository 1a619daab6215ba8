"""The scan page: a scanner that types, and a camera that the browser can read."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.conftest import journey
from tests.helpers import Bench

# A browser with a camera and a reader of codes; what it sees is what `code` says.
CAMERA = """(code) => {
  window.BarcodeDetector = class { async detect() { return [{ rawValue: code }]; } };
  const canvas = document.createElement("canvas");
  setInterval(() => canvas.getContext("2d").fillRect(0, 0, 9, 9), 50);
  Object.defineProperty(navigator, "mediaDevices", {
    value: { getUserMedia: async () => canvas.captureStream(5) },
  });
}"""


@journey
def test_a_scanner_that_types_opens_the_job(face, signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(make="Corvane")
    signed_in.get_by_role("link", name="Scan", exact=True).click()
    expect(signed_in.get_by_label("Label, job number")).to_be_focused()
    # A page that was not painted yet takes no keys; no scanner is that fast after a tap.
    signed_in.evaluate(
        "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )
    signed_in.keyboard.type(f"/jobs/{number}/")
    signed_in.keyboard.press("Enter")
    expect(signed_in.get_by_role("heading", level=1)).to_contain_text("Corvane")


def test_the_camera_opens_the_job(signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(make="Corvane")
    signed_in.add_init_script(f"({CAMERA})('/jobs/{number}/')")
    signed_in.goto(f"{live_server.url}/scan/")
    signed_in.get_by_role("button", name="Use the camera").click()
    signed_in.wait_for_url(f"**/jobs/{number}/")


def test_without_a_reader_the_field_is_all_there_is(signed_in, live_server, crew, quiet):
    signed_in.add_init_script("delete window.BarcodeDetector")
    signed_in.goto(f"{live_server.url}/scan/")
    expect(signed_in.get_by_role("button", name="Use the camera")).to_be_hidden()
    expect(signed_in.get_by_role("button", name="Open it")).to_be_visible()
