"""A picture is marked: with a finger on a telephone, and by numbers without JavaScript."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from shop.photos.models import Photo, PhotoMark
from tests.browser.conftest import PHONE, faults_of, journey, no_sideways_scrolling
from tests.helpers import Bench, amplifier
from tests.photos.pictures import picture, snap


@pytest.fixture
def photo(crew):
    number = Bench(crew.technician).receive(facts=amplifier())
    whole = picture(size=(1200, 900), colour="#345")
    taken = snap(number, by=crew.technician, whole=whole)
    Photo.objects.filter(pk=taken.pk).update(width=1200, height=900)
    return taken


@journey
def test_an_arrow_is_drawn_on_the_picture(face, signed_in, live_server, photo, shoot, quiet):
    page = signed_in
    page.goto(f"{live_server.url}/jobs/{photo.job_id}/photos/")
    page.get_by_role("link", name="Mark").click()
    page.wait_for_load_state()
    frame = page.locator("#marking").bounding_box()
    at = lambda x, y: (frame["x"] + frame["width"] * x, frame["y"] + frame["height"] * y)  # noqa: E731
    page.mouse.move(*at(0.25, 0.3))
    page.mouse.down()
    page.mouse.move(*at(0.5, 0.4))
    page.mouse.move(*at(0.75, 0.6))
    page.mouse.up()
    expect(page.locator("#marking svg line")).to_be_visible()
    page.locator("#words").fill("Cold joint")
    page.get_by_role("button", name="Draw it").click()
    expect(page.locator(".said")).to_contain_text("The original stays")
    drawn = PhotoMark.objects.get()
    assert [drawn.x1, drawn.y1, drawn.x2, drawn.y2] == pytest.approx([250, 300, 750, 600], abs=6)
    assert faults_of(page) == []
    shoot(page, "photo-marks", full_page=True)
    page.get_by_role("button", name="Take off an arrow Cold joint").click()
    expect(page.locator(".said")).to_contain_text("taken off")
    assert PhotoMark.objects.get().taken_back_at


@pytest.mark.browser_context_args(java_script_enabled=False)
def test_without_javascript_the_places_are_read_off_the_lines(
    signed_in, live_server, photo, shoot, quiet
):
    page = signed_in
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/photos/{photo.pk}/marks/")
    page.get_by_label("a ring").check()
    for name, value in (("x1", "20"), ("y1", "30"), ("x2", "60"), ("y2", "70")):
        page.locator(f"#{name}").fill(value)
    shoot(page, "photo-marks-typed", full_page=True)
    page.get_by_role("button", name="Draw it").click()
    expect(page.locator(".said")).to_contain_text("The original stays")
    assert PhotoMark.objects.get().x2 == 600
    no_sideways_scrolling(page)
