"""Locked, full, lost, killed: every answer is a sentence with 503, and nothing slips.

After each fault the chains hold, what was acknowledged is there, and nothing is there twice.
"""

from __future__ import annotations

import os
from collections import Counter

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from shop.api.models import ApiToken
from shop.jobs import queries
from shop.jobs.commands import postponing
from shop.jobs.models import LedgerRow, Permit
from shop.lib import waiting
from tests.faults import stops
from tests.helpers import Bench, TestPeople, amplifier

pytestmark = pytest.mark.django_db(transaction=True)
on_postgresql = pytest.mark.skipif(
    "postgres" not in os.environ.get("BENCHTAG_DATABASE_URL", ""), reason="of PostgreSQL alone"
)

OTHER_WRITES = {
    "/jobs/{}/cover/": {"to": "off"},
    "/jobs/{}/stage/": {"to": "reproducing"},
    "/jobs/{}/sign/visual-intake/": {"result": "pass"},
    "/receive/": {"make": "Alder", "complaint": "hums"},
}


class Desk:
    """One person at the pages and by the API, who remembers what was acknowledged."""

    def __init__(self) -> None:
        self.people = TestPeople.make()
        self.people.technician.set_password("the right one")
        self.people.technician.save()
        self.bench = Bench(self.people.technician)
        self.number = self.bench.receive(facts=amplifier())
        self.pages = Client(raise_request_exception=False)
        self.pages.force_login(self.people.technician)
        self.token = {"Authorization": f"Bearer {ApiToken.make(self.people.technician)}"}
        self.noted: Counter[str] = Counter()
        # What looks things up once has done so.
        for way in (self.page_note, self.api_note):
            assert way("before") in (201, 302)

    def page_note(self, text: str) -> int:
        """Write a note on the page; returns the status, having looked at the answer."""
        path, given = f"/jobs/{self.number}/record/note_added/", {"text": text}
        answer = self.pages.post(path, given)
        return self._taken(answer, text, "html")

    def api_note(self, text: str) -> int:
        path, given = f"/api/v1/jobs/{self.number}/ledger/", {"kind": "note_added"}
        body = given | {"data": {"text": text}}
        answer = self.pages.post(path, body, "application/json", headers=self.token)
        return self._taken(answer, text, "json")

    def _taken(self, answer, text: str, kind: str) -> int:
        if answer.status_code in (201, 302):
            self.noted[text] += 1
        else:
            refused(answer, kind)
        return answer.status_code

    def mains_off(self, *, api: bool = False):
        if api:
            path = f"/api/v1/jobs/{self.number}/power/"
            return self.pages.post(path, {"to": "isolated"}, "application/json", headers=self.token)
        return self.pages.post(f"/jobs/{self.number}/power/", {"to": "isolated"})

    def fill(self) -> None:
        """Write notes until none is taken: long ones, then short ones into what is left of a page."""
        for length in (15_000, 500, 1):
            taken = (self.api_note(f"{length}-{n}".ljust(length, "x")) for n in range(100))
            assert 503 in taken

    def check(self) -> None:
        """All that was acknowledged is there, once; the chains hold."""
        assert list(queries.ledger_faults()) == []
        rows = LedgerRow.objects.filter(job=self.number, event_type="note_added")
        there = Counter(row.data["text"] for row in rows)
        assert not self.noted - there, "an acknowledged note is not there"
        assert all(times == 1 or text == "before" for text, times in there.items())


def refused(answer, kind: str) -> None:
    """A sentence with 503 and when to come again, in the right shape."""
    assert answer.status_code == 503, answer.content[:300]
    assert int(answer["Retry-After"]) > 0
    assert answer["Content-Type"].split(";")[0].endswith(kind)
    reason = answer.json()["reason"] if kind == "json" else answer.content.decode()
    assert "The database is busy" in reason or "There is no room left" in reason


@pytest.fixture
def desk():
    return Desk()


def test_a_locked_database_refuses_every_write_and_reads_go_on(desk):
    with stops.locked(), waiting.at_most(50):
        assert desk.page_note("one") == 503
        assert desk.api_note("two") == 503
        for path in ("/", f"/jobs/{desk.number}/", "/jobs/", "/search/?q=hums"):
            assert desk.pages.get(path).status_code == 200, path
        for path, given in OTHER_WRITES.items():
            refused(desk.pages.post(path.format(desk.number), given), "html")
        stranger = Client(raise_request_exception=False)
        right = {"username": "technician", "password": "the right one"}
        signed_in = stranger.post("/sign-in/", right)
        if connection.vendor == "sqlite":
            refused(signed_in, "html")
        else:
            assert signed_in.status_code == 302, "that table is not locked"
    assert desk.page_note("three") == 302
    desk.check()


def test_a_full_disk_refuses_what_does_not_fit(desk):
    with stops.full():
        desk.fill()
        long = "x" * 15_000
        assert (desk.page_note(f"page{long}"), desk.api_note(f"api{long}")) == (503, 503)
        assert desk.pages.get(f"/jobs/{desk.number}/").status_code == 200
    assert desk.api_note("there is room again") == 201
    desk.check()


@pytest.mark.parametrize("api", [True, False])
@pytest.mark.parametrize("stop", [stops.locked, stops.full])
def test_mains_off_is_not_recorded_with_a_sentence_and_recorded_later(desk, stop, api):
    desk.bench.limited(desk.number)
    with stop(), waiting.at_most(50):
        desk.fill()
        answer = desk.mains_off(api=api)
        refused(answer, "json" if api else "html")
        assert "What counts is the plug" in answer.content.decode()
        assert desk.bench.job(desk.number).power == "limited"
    postponing.write(now=timezone.now())
    assert desk.bench.job(desk.number).power == "isolated"
    assert not Permit.objects.filter(ended_at=None).exists()
    assert list(queries.ledger_faults()) == []


@pytest.mark.parametrize("way", ["page_note", "api_note"])
def test_no_room_at_any_statement_leaves_all_of_a_write_or_nothing(desk, way):
    write = getattr(desk, way)
    with stops.fails_at(0, stops.no_room) as statements:
        write("how many")
    for step in range(1, len(statements) + 1):
        with stops.fails_at(step, stops.no_room):
            write(f"step {step}")
        desk.check()
    assert set(desk.noted.values()) <= {1, 2}
    assert write("afterwards") in (201, 302)
    desk.check()


@on_postgresql
@pytest.mark.parametrize("way", ["page_note", "api_note"])
def test_a_connection_lost_at_any_statement_leaves_all_of_a_write_or_nothing(desk, way):
    write = getattr(desk, way)
    with stops.fails_at(0, stops.lost) as statements:
        write("how many")
    for step in range(1, len(statements) + 1):
        with stops.fails_at(step, stops.lost):
            write(f"step {step}")
        connection.close()
        assert write(f"after {step}") in (201, 302)
        desk.check()


@on_postgresql
def test_mains_off_on_a_lost_connection_is_recorded_on_the_next(desk):
    desk.bench.limited(desk.number)
    with stops.fails_at(1, stops.lost, only='UPDATE "jobs_job"'):
        answer = desk.mains_off(api=True)
    refused(answer, "json")
    connection.close()
    postponing.write(now=timezone.now())
    assert desk.bench.job(desk.number).power == "isolated"
    assert list(queries.ledger_faults()) == []
