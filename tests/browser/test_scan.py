"""The scan page: a scanner that types, and a camera that the browser can read."""

from __future__ import annotations

import segno
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
    number = Bench(crew.technician).receive(make="Corvenby")
    signed_in.get_by_role("link", name="Scan", exact=True).click()
    expect(signed_in.get_by_label("Label, number of a job")).to_be_focused()
    signed_in.keyboard.type(f"/jobs/{number}/")
    signed_in.keyboard.press("Enter")
    expect(signed_in.get_by_role("heading", level=1)).to_contain_text("Corvenby")


def test_a_script_that_comes_late_takes_nothing_back(signed_in, live_server, crew, quiet):
    """The scanner types while the script is still on its way."""
    number = Bench(crew.technician).receive(make="Corvenby")
    held = []

    def hold(route):
        held.append(route)

    signed_in.route("**/scan.js", hold)
    signed_in.goto(f"{live_server.url}/scan/", wait_until="commit")
    expect(signed_in.get_by_label("Label, number of a job")).to_be_focused()
    signed_in.keyboard.type("/jobs/")
    held[0].continue_()
    signed_in.wait_for_load_state("load")
    signed_in.keyboard.type(f"{number}/")
    expect(signed_in.get_by_label("Label, number of a job")).to_have_value(f"/jobs/{number}/")


def test_a_code_that_is_there_already_is_typed_over(signed_in, live_server, crew):
    for make in ("Corvenby", "Ravelund"):
        Bench(crew.technician).receive(make=make, serial="S1")
    signed_in.goto(f"{live_server.url}/scan/?code=S1")
    expect(signed_in.get_by_label("Label, number of a job")).to_be_focused()
    signed_in.wait_for_load_state("load")
    signed_in.keyboard.type("7")
    expect(signed_in.get_by_label("Label, number of a job")).to_have_value("7")


def test_the_camera_opens_the_job(signed_in, live_server, crew, quiet):
    number = Bench(crew.technician).receive(make="Corvenby")
    signed_in.add_init_script(f"({CAMERA})('/jobs/{number}/')")
    signed_in.goto(f"{live_server.url}/scan/")
    signed_in.get_by_role("button", name="Use the camera").click()
    signed_in.wait_for_url(f"**/jobs/{number}/")


def test_without_a_reader_the_field_is_all_there_is(signed_in, live_server, crew, quiet):
    signed_in.add_init_script("delete window.BarcodeDetector")
    signed_in.goto(f"{live_server.url}/scan/")
    expect(signed_in.get_by_role("button", name="Use the camera")).to_be_hidden()
    expect(signed_in.get_by_role("button", name="Open it")).to_be_visible()


def test_without_a_reader_a_still_picture_opens_the_job(
    signed_in, live_server, crew, quiet, tmp_path
):
    number = Bench(crew.technician).receive(make="Corvenby")
    label = tmp_path / "label.png"
    segno.make(f"http://192.168.0.9/jobs/{number}/").save(str(label), scale=8)
    signed_in.add_init_script("delete window.BarcodeDetector")
    signed_in.goto(f"{live_server.url}/scan/")
    signed_in.get_by_label("Or take a picture of the label").set_input_files(str(label))
    signed_in.wait_for_url(f"**/jobs/{number}/")
    expect(signed_in.locator("main")).to_contain_text("Check that the unit is this one")


def test_a_browser_that_reads_codes_is_not_asked_for_a_picture(signed_in, live_server, crew, quiet):
    signed_in.add_init_script(f"({CAMERA})('/jobs/1/')")
    signed_in.goto(f"{live_server.url}/scan/")
    expect(signed_in.get_by_label("Or take a picture of the label")).to_be_hidden()
