"""Journeys of the proof: trials counted down, a soak read to its end, a recording measured."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from shop.jobs.models import Job, LedgerRow
from tests.bench.audio.waves import as_file, sine
from tests.browser.conftest import PHONE, journey
from tests.helpers import Bench, amplifier

phone = pytest.mark.browser_context_args(
    viewport=PHONE, device_scale_factor=2, is_mobile=True, has_touch=True
)


@pytest.fixture
def bench(crew):
    return Bench(crew.technician)


@phone
def test_trials_are_written_down_and_counted(signed_in, live_server, bench, quiet):
    number = bench.receive(facts=amplifier(complaint__intermittent=True))
    signed_in.goto(f"{live_server.url}/jobs/{number}/trials/")
    signed_in.get_by_text("Conditions:").click()
    signed_in.get_by_label("warm", exact=True).check()
    form = signed_in.locator("form.series")
    for button, shown in (("The fault showed", 1), ("The fault showed", 2), ("Clean", 3)):
        form.get_by_role("button", name=button).click()
        expect(signed_in.locator("ol.trials li")).to_have_count(shown)
        expect(signed_in.locator(".htmx-settling, .htmx-request")).to_have_count(0)

    assert [trial.conditions for trial in bench.traveller(number).record.trials] == [("warm",)] * 3
    expect(signed_in.locator(".lead").first).to_contain_text("67 %")
    expect(signed_in.locator("svg.chart")).to_be_visible()


@journey
def test_a_soak_that_gets_too_hot_cannot_end_well(face, signed_in, live_server, bench, quiet):
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    bench.to_soak(number)
    signed_in.goto(f"{live_server.url}/jobs/{number}/soak/")
    signed_in.get_by_role("button", name="Start the soak clock").click()
    expect(signed_in.locator("#soak")).to_contain_text("Next reading at")

    form = signed_in.locator("form[action$='record/soak_reading/']")
    form.locator("[name=quantity]").select_option("sink_celsius")
    form.locator("[name=value]").fill("104")
    form.get_by_role("button", name="Record the reading").click()
    expect(signed_in.locator("#soak")).to_contain_text("Against it")

    signed_in.get_by_role("button", name="End it: no fault").click()
    expect(signed_in.locator("#soak")).to_contain_text("Failed after")
    [row] = LedgerRow.objects.filter(job_id=number, event_type="soak_ended")
    assert row.data["result"] == "fail"
    assert Job.objects.get(pk=number).stage == "soaking"


@phone
def test_a_recording_becomes_readings(signed_in, live_server, bench, quiet):
    number = bench.receive()
    made = as_file(sine(1000) + sine(2000, 0.005)).getvalue()
    signed_in.goto(f"{live_server.url}/jobs/{number}/recording/")
    signed_in.locator("[name=recording]").set_input_files(
        {"name": "1 kHz.wav", "mimeType": "audio/wav", "buffer": made}
    )
    signed_in.locator("[name=keep]").check()
    signed_in.get_by_role("button", name="Measure", exact=True).click()
    expect(signed_in.locator("table.plan")).to_contain_text("1 kHz.wav")
    assert LedgerRow.objects.filter(job_id=number, event_type="reading_taken").exists()
