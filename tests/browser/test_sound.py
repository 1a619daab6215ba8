"""Play and record in Chromium, whose fake capture device plays a file whose truth is known.

The browser itself opens the file, resamples and mixes it as it would a sound card; what the page
then shows is held against the formula that made the file.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from django.utils import timezone
from playwright.sync_api import expect
from scipy.io import wavfile

from shop.bench.audio import signals
from shop.bench.audio.distortion import clip_level, clipped_sine
from shop.jobs.models import LedgerRow
from shop.sound.models import SoundInput
from tests.browser.conftest import CHROMIUM, PHONE, faults_of, no_sideways_scrolling
from tests.helpers import Bench

RATE = 48_000
FULL_SCALE_VOLTS = 12.5
# Of the file: a tone of 1 kHz with a second and a third harmonic, and its level.
PEAK, SECOND, THIRD = 0.25, 0.01, 0.003
CLIPS_AT = 0.4


def tone():
    turn = 2 * math.pi * 1000 * np.arange(20 * RATE) / RATE
    return PEAK * (np.sin(turn) + SECOND * np.sin(2 * turn + 0.4) + THIRD * np.sin(3 * turn + 1))


def clipping():
    return np.clip(signals.signal("steps", level_decibels=-0.5), -CLIPS_AT, CLIPS_AT)


def low_pass():
    """A sweep through a low-pass of first order at 5 kHz, filtered exactly, in the spectrum."""
    sweep = signals.signal("sweep", level_decibels=-6)
    places = np.fft.rfftfreq(len(sweep), 1 / RATE)
    return np.fft.irfft(np.fft.rfft(sweep) / (1 + 1j * places / CORNER_HERTZ), len(sweep))


CORNER_HERTZ = 5000.0


def as_file(samples, tmp_path):
    file = tmp_path / "truth.wav"
    wavfile.write(file, RATE, np.round(samples * 32767).astype(np.int16))
    return file


@pytest.fixture
def card(playwright, live_server, crew, tmp_path):
    """Opens a page of a browser whose sound card hears the samples, signed in as the technician."""
    opened = []

    def open_with(samples, loop=""):
        file = as_file(samples, tmp_path)
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM,
            args=[
                "--no-sandbox",
                "--disable-gpu",
                "--use-fake-ui-for-media-stream",
                "--use-fake-device-for-media-stream",
                f"--use-file-for-fake-audio-capture={file}{loop}",
            ],
        )
        opened.append(browser)
        page = browser.new_page(viewport=PHONE)
        page.said = []
        page.on("console", lambda m: page.said.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.goto(f"{live_server.url}/sign-in/")
        page.fill("[name=username]", "technician")
        page.fill("[name=password]", "bench-in-test")
        page.click("button.go")
        page.wait_for_url(f"{live_server.url}/")
        return page

    yield open_with
    for browser in opened:
        browser.close()


@pytest.fixture
def number(crew):
    return Bench(crew.technician).receive()


@pytest.fixture
def line_in(crew):
    return SoundInput.objects.create(
        name="Bench computer, line in",
        setting="gain at noon, 20 dB pad",
        full_scale_volts=FULL_SCALE_VOLTS,
        calibrated_at=timezone.now(),
        calibrated_by=crew.technician,
    )


def readings(number):
    rows = LedgerRow.objects.filter(job_id=number, event_type="reading_taken")
    return {row.data["quantity"]: row.data["value"] for row in rows}


def play(page, signal):
    page.locator("[name=signal]").select_option(signal)
    page.get_by_label("Dummy load on").check()
    page.locator("[data-start]").click()


def measure(page, live_server, number, signal):
    page.goto(f"{live_server.url}/jobs/{number}/recording/")
    page.locator("[name=sound_input]").select_option(label="Bench computer, line in")
    play(page, signal)
    expect(page.get_by_role("heading", name="Result")).to_be_visible(timeout=60_000)
    assert page.said == []


def test_a_tone_measures_what_the_formula_says(card, live_server, number, line_in):
    page = card(tone())
    measure(page, live_server, number, "sine")
    found = readings(number)
    assert found["level_volts"] == pytest.approx(PEAK * FULL_SCALE_VOLTS, rel=1e-3)
    assert found["thd_f_percent"] == pytest.approx(100 * math.hypot(SECOND, THIRD), rel=0.005)
    # What is read stands on the page.
    shown = page.locator("table.plan").first
    expect(shown).to_contain_text("sound card Bench computer, line in, calibrated")
    expect(shown).to_contain_text("3.12 V")
    expect(shown).to_contain_text("1.04 %")
    # Level and tick stay for the next one; nothing is measured twice.
    expect(page.locator("[name=level]")).to_have_value("-40")
    expect(page.get_by_label("Dummy load on")).to_be_checked()
    no_sideways_scrolling(page)
    assert faults_of(page) == []


@pytest.mark.slow
def test_steps_through_a_stage_that_clips(card, live_server, number, line_in):
    """1 % of a hard-clipped sine: its peak would be 1 / 0.9715 of the limit (W7.6)."""
    page = card(clipping())
    measure(page, live_server, number, "steps")
    peak = CLIPS_AT / (clip_level(1.0).clip_percent / 100)
    total = peak * math.sqrt(2 * clipped_sine(100 * CLIPS_AT / peak).mean_square)
    assert readings(number)["clipping_volts"] == pytest.approx(total * FULL_SCALE_VOLTS, rel=0.02)
    expect(page.locator("svg.chart")).to_be_visible()


@pytest.mark.slow
def test_a_sweep_through_a_low_pass_and_then_without_it(card, live_server, number, line_in):
    """-3 dB of a first-order low-pass lie at its corner; each band is off by the formula."""
    page = card(low_pass())
    measure(page, live_server, number, "sweep")
    row = LedgerRow.objects.get(job_id=number, event_type="curve_measured").data
    fall = [-10 * math.log10(1 + (f / CORNER_HERTZ) ** 2) for f in row["x"]]
    shift = fall[min(range(len(fall)), key=lambda n: abs(math.log(row["x"][n] / 1000)))]
    for hertz, level, want in zip(row["x"], row["y"], fall, strict=True):
        if 25 < hertz < 17_000:
            assert level == pytest.approx(want - shift, abs=0.2), hertz
    # To the level at 1 kHz, which the filter has lowered too: hence a little above the corner.
    at = CORNER_HERTZ * math.sqrt(10**0.3 * (1 + (1000 / CORNER_HERTZ) ** 2) - 1)
    assert readings(number)["highest_hertz"] == pytest.approx(at, rel=0.02)

    mended = card(signals.signal("sweep", level_decibels=-6))
    measure(mended, live_server, number, "sweep")
    expect(mended.locator("svg.chart polyline")).to_have_count(2)
    expect(mended.get_by_text("Against the one before it")).to_contain_text("more, at 1")
    no_sideways_scrolling(mended)


@pytest.mark.slow
def test_an_input_is_calibrated_where_it_stands(card, live_server, crew):
    """A tone of a quarter of full scale that a meter reads as 0.5 V: full scale is 2 V."""
    page = card(tone())
    page.goto(f"{live_server.url}/sound/")
    page.get_by_label("Name, such as").fill("Line in, 2 V")
    play(page, "silence")
    expect(page.locator("[data-said]")).to_contain_text("Recorded at", timeout=60_000)
    page.get_by_label("Volts r.m.s. of the tone").fill("0.5")
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_text("Kept: Line in, 2 V")).to_be_visible()
    assert SoundInput.objects.get().full_scale_volts == pytest.approx(0.5 / PEAK, rel=1e-3)
    assert page.said == []


def test_nothing_plays_before_the_tick_and_stop_ends_it(card, live_server, number, line_in):
    page = card(tone())
    page.goto(f"{live_server.url}/jobs/{number}/recording/")
    start, said = page.locator("[data-start]"), page.locator("[data-said]")
    expect(start).to_be_disabled()
    play(page, "sine")
    expect(said).to_have_text("Choose at Recorded by which input this is.")
    page.locator("[name=sound_input]").select_option(label="Bench computer, line in")
    # A tone holds no response; what it may hold besides is left as chosen.
    page.locator("[name=what]").select_option("response")
    start.click()
    expect(page.locator("[name=what]")).to_have_value("tone")
    expect(said).to_contain_text("peak -12.0 dB", timeout=20_000)
    page.get_by_role("button", name="Stop").click()
    expect(said).to_have_text("Stopped.")
    expect(start).to_be_enabled()
    assert page.locator("[name=recording]").input_value() == ""
    assert readings(number) == {}


def test_processing_that_stays_on_is_refused(card, live_server, number, line_in):
    page = card(tone())
    page.add_init_script(
        "const settings = MediaStreamTrack.prototype.getSettings;"
        "MediaStreamTrack.prototype.getSettings = function () {"
        "  return { ...settings.call(this), autoGainControl: true }; };"
    )
    page.goto(f"{live_server.url}/jobs/{number}/recording/")
    page.locator("[name=sound_input]").select_option(label="Bench computer, line in")
    play(page, "sine")
    expect(page.locator("[data-said]")).to_contain_text("keeps gain control on")
    assert readings(number) == {}


@pytest.mark.slow
def test_a_recording_in_which_nothing_came_in_is_refused(card, live_server, number, line_in):
    page = card(np.zeros(20 * RATE))
    page.goto(f"{live_server.url}/jobs/{number}/recording/")
    page.locator("[name=sound_input]").select_option(label="Bench computer, line in")
    play(page, "multitone")
    expect(page.locator("[data-said]")).to_contain_text("Nothing at all came in", timeout=60_000)


@pytest.mark.browser_context_args(java_script_enabled=False)
def test_without_a_script_signals_are_taken_along_and_files_come_back(
    signed_in, live_server, number, line_in, tmp_path
):
    signed_in.goto(f"{live_server.url}/sound/")
    expect(signed_in.locator("[data-play]")).to_be_hidden()
    with signed_in.expect_download() as coming:
        signed_in.get_by_role("link", name="A tone of 1 kHz, 48000 Hz").click()
    file = tmp_path / "sine.wav"
    coming.value.save_as(file)
    signed_in.goto(f"{live_server.url}/jobs/{number}/recording/")
    expect(signed_in.locator("[data-play]")).to_be_hidden()
    signed_in.locator("[name=recording]").set_input_files(file)
    signed_in.locator("[name=sound_input]").select_option(label="Bench computer, line in")
    signed_in.get_by_role("button", name="Measure", exact=True).click()
    found = readings(number)
    assert found["level_volts"] == pytest.approx(10 ** (-20 / 20) * FULL_SCALE_VOLTS, rel=1e-4)
