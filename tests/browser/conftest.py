from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from django.conf import settings

from tests.helpers import TestPeople

CHROMIUM = (
    os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
)
SCREENSHOTS = os.environ.get("BENCHWARDEN_SCREENSHOTS")
PHONE = {"width": 390, "height": 844}
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


@pytest.fixture
def crew(transactional_db):
    people = TestPeople.make()
    for person in (people.technician, people.owner, people.viewer):
        person.set_password("bench-in-test")
        person.save()
    return people


def _note_failure(said, request):
    # A picture still on its way when the test goes to the next page is aborted, not missing.
    if request.failure != "net::ERR_ABORTED":
        said.append(f"failed: {request.url}: {request.failure}")


@pytest.fixture
def quiet(page):
    """Fails the test on any console error, page error or failed request."""
    said = []
    page.on("console", lambda m: said.append(m.text) if m.type in ("error", "warning") else None)
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
def shoot(request):
    """Write a screenshot for the documents when asked for by BENCHWARDEN_SCREENSHOTS."""

    def shoot(page, name: str, *, full_page: bool = False) -> None:
        if SCREENSHOTS:
            folder = Path(settings.ROOT) / SCREENSHOTS
            folder.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=str(folder / f"{name}.png"), full_page=full_page)

    return shoot
