"""A reading from a meter on a real socket, in a browser, with and without scripts."""

from __future__ import annotations

import threading

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from shop.instruments import asking, connecting
from shop.instruments.models import Request
from shop.jobs.models import LedgerRow
from tests.browser.conftest import journey
from tests.helpers import Bench, amplifier
from tests.helpers_instruments import VOLTS, instrument
from tests.instruments.simulated import meter


@pytest.fixture
def bench(crew):
    return Bench(crew.technician)


@pytest.fixture
def on_socket(transactional_db, crew, worker):
    with meter(**{"MEAS:VOLT:DC?": ["0.010", "0.0061"]}) as device:
        device.instrument = instrument("Bench meter", VOLTS, by=crew.owner)
        commands = {"dc-voltage": ""}
        connecting.save(device.instrument, device.resource, 9600, commands, by=crew.owner)
        asking.test(device.instrument, by=crew.owner, at=timezone.now())
        while Request.objects.filter(state__in=["waiting", "running"]).exists():
            threading.Event().wait(0.1)
        yield device


@pytest.fixture
def live(bench):
    number = bench.receive(facts=amplifier())
    bench.ready_for(number, bench.step(number, "dc-offset").step)
    return number


@journey
def test_it_comes_into_the_field_and_a_person_signs(
    face, signed_in, live_server, live, on_socket, quiet, tmp_path
):
    page = signed_in
    page.goto(f"{live_server.url}/jobs/{live}/step/dc-offset/")
    page.fill("[name=reading-before_relay_millivolts]", "2")
    page.get_by_role("button", name="Read meter: Bench meter").first.click()
    expect(page.get_by_text("Reading Bench meter")).to_be_visible()
    field = page.locator("[name=reading-offset_millivolts]")
    expect(field).to_have_value("6.1", timeout=15_000)
    expect(page.locator("[name=reading-before_relay_millivolts]")).to_have_value("2")
    expect(page.locator("[name=instrument-dc-voltage] option:checked")).to_have_text("Bench meter")
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#traveller")).to_contain_text(
        "Direct voltage at each output, no load: signed."
    )
    row = LedgerRow.objects.filter(job_id=live, event_type="step_signed").last()
    assert row.data["readings"][0]["instrument"]["name"] == "Bench meter"


@pytest.mark.browser_context_args(java_script_enabled=False)
def test_without_scripts_by_pressing_again(page, live_server, crew, live, on_socket):
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", "technician")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.goto(f"{live_server.url}/jobs/{live}/step/dc-offset/")
    page.fill("[name=reading-before_relay_millivolts]", "2")
    with page.expect_navigation():
        page.get_by_role("button", name="Read meter: Bench meter").first.click()
    for _ in range(30):
        again = page.get_by_role("button", name="Look again")
        if not again.count():
            break
        page.wait_for_timeout(500)
        # Whether it is asked again is seen on the page that comes, not on the one that goes.
        with page.expect_navigation():
            again.click()
    assert page.locator("[name=reading-offset_millivolts]").input_value() == "6.1"
    assert page.locator("[name=reading-before_relay_millivolts]").input_value() == "2"


# A meter on a serial line of the browser's machine, in place of a real port.
SERIAL = """
(() => {
  const answers = { "*IDN?": "ORRERY,BM 3,7,1", "MEAS:VOLT:DC?": "0.0072 V" };
  let tell;
  const port = {
    open: async () => {
      port.readable = new ReadableStream({ start: (line) => { tell = line; } });
      port.writable = new WritableStream({
        write: (bytes) => {
          const query = new TextDecoder().decode(bytes).trim();
          if (answers[query]) tell.enqueue(new TextEncoder().encode(answers[query] + "\\r\\n"));
        },
      });
    },
    close: async () => {},
  };
  const serial = { getPorts: async () => [port], requestPort: async () => port };
  Object.defineProperty(navigator, "serial", { value: serial });
  window.meterAnswers = answers;
})();
"""


@pytest.fixture
def at_browser(crew):
    made = instrument("Bench meter", VOLTS, by=crew.owner)
    connecting.save(made, "BROWSER", 9600, {"dc-voltage": ""}, by=crew.owner)
    return made


def test_a_meter_at_the_browser_says_who_it_is(page, live_server, crew, at_browser, quiet):
    page.add_init_script(SERIAL)
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", "owner")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.wait_for_url(f"{live_server.url}/")
    page.goto(f"{live_server.url}/instruments/{at_browser.pk}/connection/")
    page.get_by_role("button", name="Ask who it is, here").click()
    expect(page.locator(".lead")).to_contain_text("ORRERY,BM 3,7,1")


def test_a_meter_at_the_browser_is_read_there(
    signed_in, live_server, crew, live, at_browser, quiet
):
    at = timezone.now()
    connecting.identify(at_browser, "ORRERY,BM 3,7,1", by=crew.owner, at=at)
    signed_in.add_init_script(SERIAL)
    signed_in.goto(f"{live_server.url}/jobs/{live}/step/dc-offset/")
    signed_in.get_by_role("button", name="Read meter: Bench meter, here").first.click()
    field = signed_in.locator("[name=reading-offset_millivolts]")
    expect(field).to_have_value("7.2", timeout=20_000)
    expect(signed_in.locator("[name=instrument-dc-voltage] option:checked")).to_have_text(
        "Bench meter"
    )
    signed_in.evaluate("meterAnswers['*IDN?'] = 'SOMEBODY ELSE'")
    signed_in.get_by_role("button", name="Read meter: Bench meter, here").first.click()
    expect(signed_in.locator(".serial-said").first).to_contain_text("Another instrument answers")


def test_without_web_serial_nothing_is_offered(signed_in, live_server, crew, live, at_browser):
    connecting.identify(at_browser, "ORRERY,BM 3,7,1", by=crew.owner, at=timezone.now())
    signed_in.add_init_script("Object.defineProperty(navigator, 'serial', { value: undefined })")
    signed_in.goto(f"{live_server.url}/jobs/{live}/step/dc-offset/")
    expect(signed_in.locator("button.serial")).to_have_count(2)
    expect(signed_in.locator("button.serial").first).to_be_hidden()
