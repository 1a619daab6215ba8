"""Every page of the demo shop: it fits its screen, and has nothing that shuts people out."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

import pytest
from django.utils import timezone

from shop.customers.links import keys
from shop.customers.links.models import CustomerLink
from shop.customers.models import Customer
from shop.demo import units
from shop.estimates import services as estimate_services
from shop.jobs.models import Job, JobPart
from shop.model_sheets.models import ModelSheet
from shop.parts.models import Order
from shop.reminders import services as reminder_services
from shop.search import indexing
from tests.browser.conftest import DESK, PHONE, faults_of, no_sideways_scrolling
from tests.factories import PartFactory
from tests.helpers import Bench

# 1280 px at 200 %, and 320 px: WCAG 2.2, 1.4.4 and 1.4.10.
ZOOMED = {"width": 640, "height": 450}
NARROWEST = {"width": 320, "height": 640}


PAGES = {
    "bench": "/",
    "jobs": "/jobs/",
    "receive": "/receive/",
    "scan": "/scan/",
    "traveller": "/jobs/3/",
    "unknown-unit": "/jobs/6/",
    "ledger": "/jobs/1/ledger/",
    "rules": "/rules/",
    "rule": "/rules/touch-current/",
    "house": "/house-rules/",
    "backlog": "/backlog/",
    "order": "/backlog/order/",
    "parcel": "/orders/{order}/",
    "need": "/backlog/needs/{job}/{need}/",
    "trials": "/jobs/3/trials/",
    "soak": "/jobs/4/soak/",
    "search": "/search/?q=kestrl",
    "similar": "/jobs/1/similar/",
    "account": "/account/",
    "second-factor": "/account/second-factor/",
    "sessions": "/account/sessions/",
    "papers": "/jobs/3/papers/",
    "estimate": "/jobs/3/estimate/",
    "estimate-draft": "/jobs/5/estimate/",
    "photos": "/jobs/1/photos/",
    "customer-side": "/jobs/3/customer/",
    "customers": "/customers/",
    "customer": "/customers/{customer}/",
    "outbox": "/messages/",
    "wording": "/wordings/received/",
    "your-unit": "{link}",
    "recording": "/jobs/3/recording/",
    "calculators": "/calculators/",
    "calculator": "/calculators/heating-curve/?minutes=0+10+20+30+60+90&celsius=22+35+44+50+58+60",
    "models": "/models/",
    "parts": "/parts/",
    "part": "/parts/{part}/",
    "suppliers": "/suppliers/",
    "supplier": "/suppliers/{supplier}/",
    "flow": "/flow/",
    "finish": "/jobs/2/finish/",
    "reminders": "/reminders/",
    "why": "/jobs/6/why/?step=discharge-reservoirs",
    "why-not": "/jobs/4/why/?step=insulator-isolation",
}


def places():
    order = Order.objects.get(closed_at=None)
    need = JobPart.objects.filter(outstanding=True, ordered=False, required=True).first()
    return {
        "order": order.pk,
        "supplier": order.supplier_id,
        "part": order.lines.get().part_id,
        "job": need.job_id,
        "need": need.need,
        "customer": Customer.objects.get(name="Tobias Ferreira").pk,
        "link": urlsplit(keys.address(CustomerLink.objects.get())).path,
    }


@pytest.fixture
def shop(crew):
    """The demo shop; returns the addresses of its pages by name."""
    units.write()
    first = Job.objects.filter(closed_at=None).order_by("number").first().number
    reminder_services.remind(now=timezone.now())
    estimate_services.draft(first + 4, by=crew.technician, at=timezone.now())
    indexing.follow(now=timezone.now())
    known = places()
    shifted = {
        name: re.sub(r"/jobs/(\d+)", lambda m: f"/jobs/{int(m[1]) + first - 1}", path)
        for name, path in PAGES.items()
    }
    return {name: path.format(**known) for name, path in shifted.items()}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desk"])
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
        "/carry/",
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
