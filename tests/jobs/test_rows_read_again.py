"""Rows of a ledger that are read again: the same while they say the same, others once they were altered."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection

from shop.jobs import events, ledger, power_triggers
from shop.jobs.models import Job, LedgerRow

pytestmark = pytest.mark.django_db


def test_what_was_read_is_not_read_again(job):
    whose = Job.objects.get(pk=job)
    first = ledger.read(whose)
    assert all(one is same for one, same in zip(first, ledger.read(whose), strict=True))


def test_its_moments_are_those_of_the_row_itself(job):
    rows, plain = ledger.read(Job.objects.get(pk=job)), LedgerRow.objects.filter(job=job)
    assert [row.at for row in rows] == [row.at for row in plain.order_by("sequence")]
    assert {row.at.utcoffset() for row in rows} == {timedelta(0)}


def test_a_row_with_no_moment_has_none(job):
    [row] = {ledger._row(1, "note_added", text, "x", "{}", "").at for text in ("", "long ago")}
    assert row is None


def test_whether_the_unit_has_another_open_job_is_read_along(job, bench, django_assert_num_queries):
    whose = Job.objects.get(pk=job)
    with django_assert_num_queries(1):
        ledger.read(whose)
        assert whose.twins == []
    other = bench.receive()
    Job.objects.filter(pk=other).update(unit=whose.unit)
    again = Job.objects.get(pk=job)
    ledger.read(again)
    assert again.twins == [other]
    Job.objects.filter(pk=other).update(closed_at=again.received_at)
    closed = Job.objects.get(pk=job)
    ledger.read(closed)
    assert closed.twins == []


def test_a_row_that_was_altered_is_seen_at_once(job):
    whose = Job.objects.get(pk=job)
    before = ledger.read(whose)
    assert not events.reduce(whose, before).history_events[-1].unreadable
    power_triggers.remove(connection)
    last = LedgerRow.objects.filter(job=job).last()
    LedgerRow.objects.filter(pk=last.pk).update(event_type="never_heard_of")
    assert events.reduce(whose, ledger.read(whose)).history_events[-1].unreadable
