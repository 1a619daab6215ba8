"""A manual on a telephone: added, found, read closely, put beside a step; also without JavaScript."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from shop.manuals.models import Manual, PageLink
from tests.browser.conftest import faults_of, journey, no_sideways_scrolling
from tests.helpers import Bench, amplifier
from tests.manuals.pdfs import pdf

SCHEMATIC = """#align(center, text(size: 20pt)[Output stage])
#grid(columns: 6, gutter: 4mm, ..range(36).map(n => rect(width: 10mm, height: 6mm)[R#n]))"""


@journey
def test_a_page_comes_from_the_file_to_the_step(face, signed_in, live_server, crew, shoot, quiet):
    page, bench = signed_in, Bench(crew.technician)
    number = bench.receive(make="Corvenby", model="Spool 3", facts=amplifier())
    raw = pdf("= Service manual\nSafety first", SCHEMATIC, "Azimuth: screw A")
    page.goto(f"{live_server.url}/jobs/{number}/manuals/")
    page.locator("input[type=file]").set_input_files(
        {"name": "Spool 3.pdf", "mimeType": "application/pdf", "buffer": raw}
    )
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".said")).to_contain_text("Its text can be searched")
    assert Manual.objects.get().model == "Spool 3"
    shoot(page, "manuals", full_page=True)

    page.get_by_role("searchbox").fill("output")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name="Spool 3, p. 2").click()
    # Drawn larger than the screen, so that it stays sharp under two fingers.
    drawn = "image => image.decode().then(() => image.naturalWidth)"
    assert page.locator(".page-frame img").evaluate(drawn) > 1000
    no_sideways_scrolling(page)
    shoot(page, "manual-page")
    page.get_by_role("link", name="4 ×").click()
    assert page.locator(".page-frame img").evaluate(drawn) > 3000
    frame = page.locator(".page-frame")
    assert frame.evaluate("one => one.scrollWidth / one.clientWidth") > 3.5
    no_sideways_scrolling(page)
    page.get_by_role("link", name="Next").first.click()
    expect(page).to_have_url(re.compile(r"/page/3/\?zoom=4$"))
    page.get_by_role("link", name="1 ×").click()

    page.get_by_text("Show this page beside").click()
    page.get_by_label("Beside").select_option("step-visual-intake")
    page.get_by_label("What is there").fill("Screw A")
    page.get_by_role("button", name="Show it there").click()
    assert PageLink.objects.get().page == 3
    page.goto(f"{live_server.url}/jobs/{number}/step/visual-intake/")
    shoot(page, "manual-beside-step")
    page.get_by_role("link", name="Spool 3, p. 3").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Spool 3, p. 3")
    page.get_by_role("link", name="All pages").click()
    expect(page.locator(".thumbnails li")).to_have_count(3)
    assert faults_of(page) == []
    shoot(page, "manual-thumbnails", full_page=True)
