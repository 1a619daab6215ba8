"""Mains off that the database did not take: kept, recorded while its permit stands, else dropped aloud."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.db import InterfaceError, OperationalError
from django.utils import timezone

from shop.jobs import commands, queries
from shop.jobs.commands import postponing, transitions
from shop.lib.web.busy_database import Postponed
from tests.helpers import Bench


@pytest.fixture
def said(bench, job, monkeypatch):
    """A unit on the limiter whose mains off was not taken."""
    bench.limited(job)
    not_taken(bench, job, monkeypatch)
    return job


def not_taken(bench: Bench, number: int, monkeypatch, error=None, seen=None):
    def broken(*args, **kwargs):
        raise error or OperationalError("database is locked")

    with monkeypatch.context() as patch:
        patch.setattr(transitions, "job_transaction", broken)
        with pytest.raises(Postponed):
            commands.set_power(number, "isolated", by=bench.by, at=timezone.now(), seen=seen)


def later(**time) -> None:
    postponing.write(now=timezone.now() + timedelta(**time))


def test_it_is_recorded_as_soon_as_the_database_answers(bench, said):
    assert bench.job(said).power == "limited"
    [notice] = commands.postponed_notices()
    assert notice.job == said
    assert "is not recorded yet" in notice.sentence
    later(seconds=3)
    assert bench.job(said).power == "isolated"
    off, note = queries.rows_of(bench.job(said))[-2:]
    assert (off.event_type, off.by) == ("power_removed", bench.by)
    assert "is recorded late: the database did not take it." in note.data["text"]
    assert commands.postponed_notices() == []
    assert list(queries.ledger_faults()) == []


def test_said_twice_it_is_recorded_once(bench, said, monkeypatch):
    not_taken(bench, said, monkeypatch, InterfaceError("connection already closed"))
    later(seconds=3)
    later(seconds=4)
    assert bench.kinds(said).count("power_removed") == 1


def test_under_another_permit_it_is_dropped_aloud(bench, said, caplog):
    bench.power(said, "isolated")
    bench.limited(said)
    later(seconds=3)
    assert bench.job(said).power == "limited", "what was said of another permit takes nothing off"
    [notice] = commands.postponed_notices()
    assert "was not recorded: it was said of another permit." in notice.sentence
    assert "was said of another permit" in caplog.text
    assert "Mains counts as on" in queries.rows_of(bench.job(said))[-1].data["text"]


def test_what_a_page_of_an_earlier_mains_said_is_dropped(bench, job, monkeypatch):
    bench.limited(job)
    seen = bench.job(job).head
    bench.power(job, "isolated")
    bench.limited(job)
    not_taken(bench, job, monkeypatch, seen=seen)
    later(seconds=3)
    assert bench.job(job).power == "limited"
    assert len(commands.postponed_notices()) == 1


def test_what_is_off_already_is_dropped_with_a_word(bench, said):
    rows = bench.power(said, "isolated").head
    later(seconds=3)
    [notice] = commands.postponed_notices()
    assert "the record says that mains is off" in notice.sentence
    assert bench.job(said).head == rows


def test_what_was_said_long_ago_is_dropped(bench, said):
    later(minutes=16)
    assert bench.job(said).power == "limited"
    [notice] = commands.postponed_notices()
    assert "too long ago" in notice.sentence


def test_it_stays_kept_while_the_database_does_not_answer(bench, said, monkeypatch):
    def broken(*args, **kwargs):
        raise OperationalError("database is locked")

    with monkeypatch.context() as patch:
        patch.setattr(postponing, "job_transaction", broken)
        later(seconds=3)
    assert bench.job(said).power == "limited"
    later(seconds=4)
    assert bench.job(said).power == "isolated"


def test_a_plug_that_is_to_be_confirmed_is_not_kept(bench, job, monkeypatch):
    """There is no permit by which to tell later whether it is still so."""

    def broken(*args, **kwargs):
        raise OperationalError("database is locked")

    monkeypatch.setattr(transitions, "job_transaction", broken)
    with pytest.raises(OperationalError) as refused:
        bench.power(job, "isolated")
    assert not isinstance(refused.value, Postponed)
    assert commands.postponed_notices() == []


def test_home_and_the_answer_say_so(client, people, bench, said, monkeypatch):
    client.force_login(people.viewer)
    assert "is not recorded yet" in client.get("/").content.decode()
    later(minutes=20)
    assert "too long ago" in client.get("/").content.decode()
    cache.clear()
    assert "too long ago" not in client.get("/").content.decode()

    def broken(*args, **kwargs):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(transitions, "job_transaction", broken)
    client.force_login(people.technician)
    answer = client.post(f"/jobs/{said}/power/", {"to": "isolated"})
    assert answer.status_code == 503
    assert answer["Retry-After"]
    page = answer.content.decode()
    assert "There is no room left on the disk. Mains off is not recorded yet." in page
    assert "What counts is the plug" in page
