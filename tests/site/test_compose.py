"""`compose.yaml`: valid by the published schema, careful by its own rules, and run side by side."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
import urllib.request
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone

from shop.jobs.models import Job
from shop.preferences.definitions import SETTINGS
from shop.reminders.models import Reminder
from tests import composed
from tests.factories import PersonFactory
from tests.helpers import Bench

FILE = composed.read()
OURS = [name for name in FILE["services"] if name not in composed.OUTSIDE]


def test_it_is_valid_by_the_compose_specification():
    tool = Path(sys.executable).parent / "check-jsonschema"
    command = [str(tool), "--builtin-schema", "vendor.compose-spec", "compose.yaml"]
    done = subprocess.run(command, cwd=settings.ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_the_image_has_the_glibc_of_the_wheels_and_installs_the_lock():
    text = (Path(settings.ROOT) / "Dockerfile").read_text(encoding="utf-8")
    bases = [line.split()[1] for line in text.splitlines() if line.startswith("FROM ")]
    assert {base.rpartition("-")[2] for base in bases} <= {"bookworm", "trixie"}, (
        "glibc 2.36 or newer"
    )
    assert "--require-hashes -r requirements.txt" in text


@pytest.mark.parametrize("name", OURS)
def test_each_of_our_services_runs_with_as_little_as_it_needs(name):
    service = FILE["services"][name]
    assert service["user"] == "10001"
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert "no-new-privileges:true" in service["security_opt"]
    assert service["environment"]["BENCHTAG_SECRET_KEY_FILE"].startswith("/run/secrets/")


@pytest.mark.parametrize("name", OURS)
def test_nothing_starts_before_what_it_needs_is_healthy(name):
    waits = FILE["services"][name]["depends_on"]
    assert waits["postgres"]["condition"] == "service_healthy"
    if name != "migrate":
        assert waits["migrate"]["condition"] == "service_completed_successfully"
    for gate in waits:
        assert gate == "migrate" or "healthcheck" in FILE["services"][gate]


def test_pages_listen_on_this_machine_only_and_nothing_else_is_published():
    published = {name: s["ports"] for name, s in FILE["services"].items() if "ports" in s}
    assert published == {"web": ["127.0.0.1:8000-8001:8000"]}


def test_no_secret_stands_in_the_file():
    text = (Path(settings.ROOT) / "compose.yaml").read_text(encoding="utf-8")
    assert "password:" not in text.replace("database-password:", "").lower()
    ignored = (Path(settings.ROOT) / ".gitignore").read_text(encoding="utf-8")
    assert "/secrets/" in ignored


@pytest.mark.parametrize("name", OURS)
def test_every_setting_is_one_that_is_read(name):
    known = (Path(settings.ROOT) / "docs" / "running.md").read_text(encoding="utf-8")
    for setting in FILE["services"][name]["environment"]:
        assert setting.removesuffix("_FILE") in known, f"{setting} is not in docs/running.md"


# Decided by the file itself, given to it as a secret, or a picture.
NOT_PASSED = {"DATA", "DEBUG", "SECRET_KEY", "LOGO", "OWN_CERTIFICATE"}


def read_by_settings() -> set[str]:
    reader = re.compile(r'env\.\w+\(\s*"([A-Z_]+)"')
    text = (Path(settings.ROOT) / "shop" / "site" / "settings.py").read_text(encoding="utf-8")
    return {*reader.findall(text), *(setting.variable for setting in SETTINGS)}


@pytest.mark.parametrize("name", OURS)
def test_every_setting_is_passed(name):
    given = {
        setting.removeprefix("BENCHTAG_").removesuffix("_FILE")
        for setting in FILE["services"][name]["environment"]
    }
    assert len(read_by_settings()) > 50
    assert read_by_settings() - NOT_PASSED - given == set()


def test_what_the_page_of_settings_decides_is_empty_unless_it_is_set_here():
    given = FILE["services"]["web"]["environment"]
    for setting in [each for each in SETTINGS if each.name != "logo"]:
        last = re.sub(r"\$\{\w+:-", "", given[f"BENCHTAG_{setting.variable}"]).rstrip("}")
        assert last == "", f"{setting.variable} is fixed by compose.yaml"


@pytest.fixture
def shop(tmp_path):
    given = connection.settings_dict
    where = f"{given['HOST'] or '127.0.0.1'}:{given['PORT'] or 5432}"
    running = composed.Composed(
        tmp_path,
        {
            "DJANGO_SETTINGS_MODULE": "shop.site.settings",
            "BENCHTAG_DATA": str(tmp_path),
            "BENCHTAG_SECRET_KEY": settings.SECRET_KEY,
            "BENCHTAG_DATABASE_URL": f"postgres://{given['USER']}@{where}/{given['NAME']}",
            "BENCHTAG_REDIS_URL": f"{settings.REDIS_URL.rpartition('/')[0]}/7",
            "BENCHTAG_WATCH_SECONDS": "1",
            "BENCHTAG_HTTPS": "no",
            "BENCHTAG_LOG_LEVEL": "INFO",
        },
        leave_out=("backup", "migrate"),
    )
    yield running
    running.down()


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(not settings.REDIS_URL, reason="no services in this run (services-test)")
def test_several_page_servers_and_workers_are_one_shop(shop, tmp_path):
    bench = Bench(PersonFactory(username="bea", role="technician"))
    number = bench.receive(make="Corvenby")
    Job.objects.filter(pk=number).update(due_at=timezone.now() - timedelta(hours=1))

    shop.up()

    assert [len(shop.of(name)) for name in ("web", "worker", "beat")] == [2, 2, 1]
    client = Client()
    client.force_login(bench.by)
    cookie = f"{settings.SESSION_COOKIE_NAME}={client.session.session_key}"
    for port in shop.ports:  # one sign-in counts on both
        request = urllib.request.Request(
            f"http://127.0.0.1:{port}/jobs/{number}/", headers={"Cookie": cookie}
        )
        with urllib.request.urlopen(request, timeout=30) as page:
            assert "Corvenby" in page.read().decode()

    until = time.monotonic() + 40
    while time.monotonic() < until and not Reminder.objects.exists():
        time.sleep(0.2)
    time.sleep(3)
    assert Reminder.objects.count() == 1

    codes = shop.down()
    assert codes["worker"] == [0, 0]
    assert codes["beat"] == [0], (tmp_path / "beat.log").read_text()
    assert codes["web"] == [0, 0]
    lines = (tmp_path / "web.log").read_text().splitlines()
    told = [json.loads(line) for line in lines if line.startswith("{")]
    asked = [row for row in told if row.get("path") == f"/jobs/{number}/"]
    assert {row["status"] for row in asked} == {200}
    assert len({row["request_id"] for row in asked}) == 2


def test_a_circle_of_services_is_found():
    circle = {"a": {"depends_on": {"b": {}}}, "b": {"depends_on": {"a": {}}}}
    with pytest.raises(AssertionError, match="wait for each other"):
        composed.in_order(circle)
