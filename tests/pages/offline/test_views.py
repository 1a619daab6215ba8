"""The worker's address and the manifest: what a browser needs to install the pages."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from PIL import Image

from shop.jobs import commands
from shop.lib.refusals import Refused

pytestmark = pytest.mark.django_db


def static(name):
    return Path(finders.find(f"shop/{name}"))


def test_the_worker_is_asked_for_anew_and_looks_after_all_addresses(client):
    answer = client.get("/service-worker.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert "connect-src 'self'" in answer["Content-Security-Policy"]
    assert b"importScripts" in answer.content


def test_the_manifest_names_icons_that_are_there(client):
    manifest = json.loads(static("benchtag.webmanifest").read_text())
    assert (manifest["start_url"], manifest["scope"]) == ("/", "/")
    for icon in manifest["icons"]:
        if icon["type"] == "image/png":
            assert "{}x{}".format(*Image.open(static(icon["src"])).size) == icon["sizes"]
        else:
            assert static(icon["src"]).exists()
    assert {icon.get("purpose") for icon in manifest["icons"]} == {None, "maskable"}


def test_pages_say_whose_they_are_and_may_have_a_worker(client, people):
    client.force_login(people.technician)
    answer = client.get("/offline/")
    text = answer.content.decode()
    assert f'data-person="{people.technician.pk}"' in text
    assert "benchtag.webmanifest" in text
    policy = answer["Content-Security-Policy"]
    assert "worker-src 'self'" in policy
    assert "manifest-src 'self'" in policy


def test_what_may_wait_is_notes_findings_and_readings_alone():
    kinds = re.search(r"const FIELDS = \{(.*?)\};", static("kept.js").read_text(), re.S)[1]
    assert re.findall(r"^ *(\w+):", kinds, re.M) == [
        "note_added",
        "finding_recorded",
        "reading_taken",
    ]


def test_an_entry_typed_on_a_page_that_is_overtaken_is_refused(bench, job):
    seen = bench.job(job).head
    bench.record(job, "note_added", text="Meanwhile")
    at = bench.job(job).received_at
    with pytest.raises(
        Refused, match="Since this was typed, 1 row came into the record"
    ) as refused:
        commands.record(job, "note_added", {"text": "Late"}, by=bench.by, at=at, seen=seen)
    assert refused.value.details["codes"] == ["stale"]
    fresh = bench.job(job).head
    commands.record(job, "note_added", {"text": "Late"}, by=bench.by, at=at, seen=fresh)
    assert bench.kinds(job)[-2:] == ["note_added", "note_added"]
