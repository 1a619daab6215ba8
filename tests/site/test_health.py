"""Readiness says which: the database is locked, full, or away."""

from __future__ import annotations

from collections import namedtuple

import pytest
from django.db import OperationalError, connection

from shop.lib.web import busy_database
from shop.lib.web.busy_database import BusyDatabase
from shop.site import health
from tests.faults.stops import locked

pytestmark = pytest.mark.django_db(transaction=True)


def ask(client):
    answer = client.get("/healthz/ready")
    return answer.status_code, answer.json().get("reason", "")


def test_a_locked_database_is_told_and_a_free_one_is_ready(client, monkeypatch):
    monkeypatch.setattr(health, "_MOST_WAIT_MILLISECONDS", 50)
    assert ask(client) == (200, "")
    with locked():
        answer = client.get("/healthz/ready")
    assert answer.status_code == 503
    assert answer["Retry-After"] == "5"
    assert answer.json()["reason"] == "The database is busy with something else."
    assert ask(client) == (200, "")


def test_a_full_disk_is_told(client, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("the disk is that of the server")
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(health.shutil, "disk_usage", lambda folder: usage(1, 1, 1000))
    assert ask(client) == (503, "There is no room left on the disk.")


def test_after_a_write_that_found_no_room_it_is_not_ready_for_a_while(client, rf, monkeypatch):
    def full(request):
        raise OperationalError("could not extend file: No space left on device")

    BusyDatabase(full)(rf.post("/jobs/1/note/"))
    assert ask(client) == (503, "There is no room left on the disk.")
    monkeypatch.setattr(busy_database, "_FULL_SECONDS", 0.0)
    assert ask(client) == (200, "")
