"""Every page of the demo shop: it fits its screen, and has nothing that shuts people out."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.jobs.models import Job
from shop.model_sheets.models import ModelSheet
from tests.browser.conftest import DESK, MOST_PIXELS, PHONE, faults_of, no_sideways_scrolling
from tests.factories import PartFactory
from tests.helpers import Bench
from tests.helpers_pages import addresses

# 1280 px at 200 %, and 320 px: WCAG 2.2, 1.4.4 and 1.4.10.
ZOOMED = {"width": 640, "height": 450}
NARROWEST = {"width": 320, "height": 640}


@pytest.fixture
def crew(demo_shop, crew):
    """The people of the demo shop, and those it has not."""
    return crew


@pytest.fixture
def shop(crew):
    """The addresses of the pages of the demo shop by name."""
    return addresses(crew.technician)


# What most people see at the bench; the others are for the long run.
@pytest.mark.parametrize(
    ("size", "scheme"),
    [
        ("phone", "light"),
        pytest.param("desk", "dark", marks=pytest.mark.slow),
        pytest.param("phone", "dark", marks=pytest.mark.slow),
        pytest.param("desk", "light", marks=pytest.mark.slow),
    ],
)
def test_every_page_fits_its_screen_and_shuts_nobody_out(
    signed_in, live_server, shop, shoot, size, scheme
):
    signed_in.set_viewport_size(PHONE if size == "phone" else DESK)
    signed_in.emulate_media(color_scheme=scheme)
    faults = {}
    for name, path in shop.items():
        signed_in.goto(live_server.url + path)
        no_sideways_scrolling(signed_in)
        assert signed_in.locator("h1").count() == 1, name
        shoot(signed_in, f"{name}-{size}-{scheme}")
        faults |= {name: found} if (found := faults_of(signed_in)) else {}
    assert faults == {}


@pytest.mark.parametrize("size", [ZOOMED, NARROWEST], ids=["200 %", "320 px"])
def test_every_page_fits_when_it_is_made_larger(signed_in, live_server, shop, size):
    signed_in.set_viewport_size(size)
    for path in shop.values():
        signed_in.goto(live_server.url + path)
        no_sideways_scrolling(signed_in)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_of_the_owner_shut_nobody_out(page, live_server, crew, quiet, scheme):
    before = Bench(crew.technician).receive(make="Corvenby", model="C 4")
    sheet = ModelSheet.objects.create(make="Corvenby", model="C 4")
    part = PartFactory()
    now = timezone.now()
    back = Job.objects.create(
        unit=Job.objects.get(pk=before).unit,
        returned_from_id=before,
        received_at=now,
        stage_since=now,
    )
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/sign-in/")
    assert faults_of(page) == []
    page.fill("[name=username]", "owner")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    for path in (
        "/export/",
        "/account/sign-ins/",
        "/account/password/",
        "/house-rules/write/",
        f"/jobs/{back.number}/earlier/",
        f"/models/{sheet.pk}/",
        f"/parts/{part.pk}/values/",
        f"/parts/{part.pk}/substitutes/",
    ):
        page.goto(live_server.url + path)
        no_sideways_scrolling(page)
        assert page.locator("h1").count() == 1, path
        assert faults_of(page) == [], path


def test_no_open_job_is_taller_than_two_screens(signed_in, live_server, shop):
    signed_in.set_viewport_size(PHONE)
    heights = {}
    for number in Job.objects.filter(closed_at=None).values_list("pk", flat=True):
        signed_in.goto(f"{live_server.url}/jobs/{number}/")
        signed_in.wait_for_load_state("networkidle")
        heights[number] = signed_in.evaluate("document.documentElement.scrollHeight")
    assert len(heights) >= 5
    assert max(heights.values()) <= MOST_PIXELS, heights
