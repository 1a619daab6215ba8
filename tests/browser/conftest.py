from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.db import connections
from django.utils import timezone
from PIL import Image

from shop.instruments import answering, asking
from tests.helpers import TestPeople

CHROMIUM = (
    os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
)
SCREENSHOTS = os.environ.get("BENCHTAG_SCREENSHOTS")
PHONE = {"width": 390, "height": 844}
# Two screens of a phone.
MOST_PIXELS = 1688
COLOURS = 96
DESK = {"width": 1280, "height": 900}


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser" in str(item.fspath):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.django_db(transaction=True))
            if not CHROMIUM:
                item.add_marker(pytest.mark.skip(reason="no Chromium on this machine"))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    quiet = "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1 , EXCLUDE localhost"
    return {
        **browser_type_launch_args,
        "executable_path": CHROMIUM,
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--disable-component-update",
            "--no-first-run",
            quiet,
        ],
    }


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args):
    # What a worker answers no test could hold up or count; test_offline.py allows it.
    return {**browser_context_args, "service_workers": "block"}


@pytest.fixture
def crew(transactional_db):
    people = TestPeople.make()
    for person in (people.technician, people.owner, people.desk, people.viewer):
        person.set_password("bench-in-test")
        person.save()
    return people


def _note_failure(said, request):
    # A picture still on its way when the test goes to the next page is aborted, not missing.
    if request.failure != "net::ERR_ABORTED":
        said.append(f"failed: {request.url}: {request.failure}")


def _is_complaint(message):
    return message.type in ("error", "warning") and "blocked by Playwright" not in message.text


@pytest.fixture
def quiet(page):
    """Fails the test on any console error, page error or failed request."""
    said = []
    page.on("console", lambda m: said.append(m.text) if _is_complaint(m) else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("requestfailed", lambda request: _note_failure(said, request))
    yield said
    # A refusal is answered with 409 or 422, which the browser notes; nothing else is in order.
    assert [line for line in said if "409" not in line and "422" not in line] == []


@pytest.fixture
def signed_in(page, live_server, crew, quiet):
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", "technician")
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.wait_for_url(f"{live_server.url}/")
    return page


@pytest.fixture
def worker():
    """The loop of the embedded worker that answers requests."""
    over = threading.Event()

    def keep():
        while not over.wait(0.2):
            if asking.waiting():
                answering.answer_waiting(now=timezone.now())
            connections.close_all()

    thread = threading.Thread(target=keep)
    thread.start()
    yield
    over.set()
    thread.join()


# A journey that matters is made on a phone and at a desk, by day and by night. Every run sees each
# size and each light once; the other two pairs are for the long run.
FACES = [
    pytest.param((PHONE, "light"), id="phone-light"),
    pytest.param((DESK, "dark"), id="desk-dark"),
    pytest.param((PHONE, "dark"), id="phone-dark", marks=pytest.mark.slow),
    pytest.param((DESK, "light"), id="desk-light", marks=pytest.mark.slow),
]
journey = pytest.mark.parametrize("face", FACES, indirect=True)
# WCAG 2.2, levels A and AA, as far as a machine can tell.
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}


@pytest.fixture
def face(page, request):
    """Give the page its size and its light; where the journey ends, nobody is shut out."""
    size, scheme = request.param
    page.set_viewport_size(size)
    page.emulate_media(color_scheme=scheme)
    yield
    no_sideways_scrolling(page)
    assert faults_of(page) == []


def faults_of(page):
    """What axe finds, in a line for each."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [
        f"{one['id']}: {node['target']} {node['failureSummary']}"
        for one in found
        for node in one["nodes"]
    ]


@pytest.fixture
def shoot(request):
    """Write a screenshot for the documents when asked for by BENCHTAG_SCREENSHOTS."""

    def shoot(page, name: str, *, full_page: bool = False) -> None:
        if SCREENSHOTS:
            folder = Path(settings.ROOT) / SCREENSHOTS
            folder.mkdir(parents=True, exist_ok=True)
            file = folder / f"{name}.png"
            page.screenshot(path=str(file), full_page=full_page)
            _make_small(file)

    return shoot


def _make_small(file: Path) -> None:
    # Pages have few colours: a third of the bytes, and no difference to see.
    with Image.open(file) as taken:
        taken.convert("RGB").quantize(COLOURS).save(file, optimize=True)


@pytest.fixture
def later(monkeypatch) -> Callable[[timedelta], None]:
    """Put the clock of the shop forward."""
    ahead = [timedelta()]
    now = timezone.now
    monkeypatch.setattr(timezone, "now", lambda: now() + ahead[0])

    def put(by: timedelta) -> None:
        ahead[0] += by

    return put


def no_sideways_scrolling(page) -> None:
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= page.viewport_size["width"], f"{page.url} is {wide} px wide"
