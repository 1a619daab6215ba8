"""A database that cannot serve: a sentence with 503 everywhere, and mains off within a second."""

from __future__ import annotations

import sqlite3
import time

import pytest
from django.db import OperationalError, connection
from django.test import RequestFactory

from shop.jobs import queries
from shop.lib.web.busy_database import BusyDatabase, reason
from tests.helpers import Bench, TestPeople, amplifier


def _answer(path: str, error: Exception, method: str = "post"):
    def broken(request):
        raise error

    return BusyDatabase(broken)(getattr(RequestFactory(), method)(path))


def test_a_locked_database_is_a_page_with_a_sentence_and_when_to_come_again():
    answer = _answer("/jobs/1/note/", OperationalError("database is locked"))
    assert answer.status_code == 503
    assert answer["Retry-After"] == "5"
    assert "Nothing was recorded" in answer.content.decode()


def test_under_the_api_it_is_json():
    answer = _answer("/api/v1/jobs/1/ledger/", OperationalError("database is locked"))
    assert answer["Content-Type"] == "application/json"
    assert b"busy" in answer.content


def test_who_takes_mains_off_is_told_what_counts():
    answer = _answer("/api/v1/jobs/1/power/", OperationalError("database is locked"))
    assert b"What counts is the plug" in answer.content


def test_a_table_that_is_not_there_is_an_error_and_no_busy_moment():
    missing = OperationalError("no such table: jobs_job")
    with pytest.raises(OperationalError):
        _answer("/", missing, "get")
    assert BusyDatabase(str).process_exception(RequestFactory().get("/"), missing) is None


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("database or disk is full", "no room left"),
        ('could not extend file "base/1": No space left on device', "no room left"),
        ("canceling statement due to lock timeout", "busy"),
        ("connection refused", "busy"),
    ],
)
def test_the_sentence_says_what_is_wrong(said, words):
    assert words in reason(OperationalError(said))


@pytest.mark.django_db(transaction=True)
def test_mains_off_says_within_a_second_that_it_could_not_be_recorded(client):
    if connection.vendor != "sqlite":
        pytest.skip("one writer locks the whole file on SQLite alone")
    people = TestPeople.make()
    bench = Bench(people.technician)
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    client.force_login(people.technician)
    holder = sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        began = time.monotonic()
        answer = client.post(f"/jobs/{number}/power/", {"to": "isolated"})
        took = time.monotonic() - began
    finally:
        holder.execute("ROLLBACK")
        holder.close()
    assert answer.status_code == 503
    assert took < 5  # the usual wait of a write is twenty seconds
    assert "What counts is the plug" in answer.content.decode()
    assert queries.job(number, bench.job(number).received_at).power == "limited"
    assert client.post(f"/jobs/{number}/power/", {"to": "isolated"}).status_code == 302
    assert bench.job(number).power == "isolated"
