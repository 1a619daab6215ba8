"""Rows of a ledger that are read again: the same while they say the same, others once they were altered."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import connection

from checklists import published
from checklists.engine import exposures
from checklists.engine.derive import derive
from checklists.engine.history import History
from shop.jobs import events, ledger, power_triggers, sheets
from shop.jobs.models import Job, LedgerRow
from shop.lib.refusals import Refused

pytestmark = pytest.mark.django_db


def test_what_was_read_is_not_read_again(job):
    whose = Job.objects.get(pk=job)
    first = ledger.read(whose)
    assert all(one is same for one, same in zip(first, ledger.read(whose), strict=True))


def test_its_moments_are_those_of_the_row_itself(job):
    rows, plain = ledger.read(Job.objects.get(pk=job)), LedgerRow.objects.filter(job=job)
    assert [row.at for row in rows] == [row.at for row in plain.order_by("sequence")]
    assert {row.at.utcoffset() for row in rows} == {timedelta(0)}


NO_MOMENTS = ["2026-02-30 10:00:00", "", "long ago", "infinity", "10000-01-01 00:00:00"]
SHIFTED = ["2026-03-02 10:00:00-23:59", "0001-01-01 00:00:00+05:00"]  # SQLite keeps no offset
# PostgreSQL takes these for a moment; Python does not.
BEYOND = ["infinity", "-infinity", "10000-01-01 00:00:00+00", "0044-03-15 10:00:00 BC"]
ALTERED = BEYOND if connection.vendor == "postgresql" else [*NO_MOMENTS, *SHIFTED]


@pytest.mark.parametrize("text", ALTERED)
@pytest.mark.parametrize("which", ["last", "first"])
def test_a_row_whose_moment_was_altered_opens_nothing(bench, text, which):
    number = bench.receive()
    bench.clear(number, "cover-off")
    bench.clear(number, "limited")
    power_triggers.remove(connection)
    rows = LedgerRow.objects.filter(job=number, event_type="step_signed").order_by("sequence")
    altered = rows.last() if which == "last" else rows.first()
    with connection.cursor() as cursor:
        sql = "UPDATE jobs_ledgerrow SET at = %s WHERE id = %s"
        cursor.execute(sql, [text, altered.pk])
    record = events.reduce(Job.objects.get(pk=number), ledger.read(Job.objects.get(pk=number)))
    assert record.history_events[altered.sequence - 1].unreadable
    with pytest.raises(Refused):
        bench.power(number, "limited")


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps moments, not texts")
def test_a_moment_that_was_shifted_is_no_longer_that_of_its_hash(job):
    power_triggers.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE jobs_ledgerrow SET at = at || '-23:59' WHERE job_id = %s", [job])
    rows = ledger.rows_of(job, ledger.stored(job))
    found = ledger.faults(rows, len(rows))
    assert found == [f"job {job}: row {row.sequence} was altered." for row in rows]


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


def test_a_record_that_was_read_again_is_derived_once(bench):
    number = bench.receive()
    bench.clear(number, "cover-off")
    first, again = bench.traveller(number), bench.traveller(number)
    assert first.record is not again.record
    assert first.record.history is again.record.history
    assert first.checklist is again.checklist
    bench.record(number, "note_added", text="x")
    later = bench.traveller(number)
    assert later.checklist is not first.checklist
    assert later.checklist.steps == first.checklist.steps


@pytest.mark.parametrize("setting", [("SECOND_PERSON", True), ("PRACTICE", "iec")])
def test_what_a_setting_changes_is_derived_anew(bench, settings, setting):
    number = bench.receive()
    bench.clear(number, "cover-off")
    before = bench.traveller(number).checklist
    setattr(settings, *setting)
    after = bench.traveller(number)
    assert after.checklist is not before
    facts, of_its_own = after.checklist.facts, map(replace, after.record.history.events)
    two_people = setting[0] == "SECOND_PERSON"
    anew = derive(published.current(), facts, History.of(of_its_own), two_people=two_people)
    assert after.checklist.steps == anew.steps


def test_nights_that_pass_are_seen_in_a_record_that_was_read_before(bench):
    number = bench.receive()
    bench.clear(number, "cover-off")
    bench.clear(number, "limited")
    job, rows = Job.objects.get(pk=number), ledger.read(Job.objects.get(pk=number))
    now = rows[-1].at
    opened = [
        exposures.against("limited", sheets.checklist_for(events.reduce(job, rows, now=at))) == []
        for at in (now, now + timedelta(days=3), now, now + timedelta(days=3))
    ]
    assert opened == [True, False, True, False]
