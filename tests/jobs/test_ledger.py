from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from shop.jobs import ledger, queries
from shop.jobs.models import Job, LedgerRow, Permit, StaleJob


def rows(number):
    return list(LedgerRow.objects.filter(job=number).order_by("sequence"))


@pytest.fixture
def busy(bench, job):
    bench.limited(job)
    bench.record(job, "note_added", text="Ω ≈ 嗡 \u2028 'quotes' \"and\" \\ slashes")
    bench.record_late(job, "work_done", work="belt-replaced", minutes=1e-7)
    return job


def test_the_chain_of_a_busy_job_is_intact(bench, busy):
    assert ledger.faults(rows(busy), bench.job(busy).head) == []
    assert list(queries.ledger_faults()) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"body": '{"text":"nothing happened"}'}, "was altered"),
        ({"event_type": "note_added"}, "was altered"),
        ({"by_name": "somebody else"}, "was altered"),
        ({"previous": "0" * 64}, "does not follow"),
    ],
)
def test_an_altered_row_is_found(bench, busy, change, said):
    chain = rows(busy)
    for name, value in change.items():
        setattr(chain[3], name, value)
    assert any(said in fault for fault in ledger.faults(chain, bench.job(busy).head))


def test_a_shifted_moment_is_found(bench, busy):
    chain = rows(busy)
    chain[2].at += timedelta(microseconds=1)
    assert ledger.faults(chain, bench.job(busy).head)


def test_a_missing_row_is_found_in_the_middle_and_at_the_end(bench, busy):
    chain, head = rows(busy), bench.job(busy).head
    assert any("is missing" in f for f in ledger.faults(chain[:2] + chain[3:], head))
    assert any("ends at" in f for f in ledger.faults(chain[:-1], head))


def refused_by_the_database(statement, *values):
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def test_the_database_refuses_to_update_or_delete_rows(busy):
    row = rows(busy)[1]
    for field in LedgerRow._meta.concrete_fields:
        refused_by_the_database(f"UPDATE jobs_ledgerrow SET {field.column} = {field.column}")
    refused_by_the_database("UPDATE jobs_ledgerrow SET sequence = sequence + 100")
    refused_by_the_database("DELETE FROM jobs_ledgerrow WHERE id = %s", row.pk)
    with pytest.raises(IntegrityError), transaction.atomic():
        row.delete()
    row.body = "{}"
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()
    assert rows(busy)[1].hash == row.hash


@pytest.mark.skipif(connection.vendor != "sqlite", reason="INSERT OR REPLACE is SQLite's")
def test_the_database_refuses_to_replace_a_row(busy):
    row = rows(busy)[1]
    refused_by_the_database(
        "INSERT OR REPLACE INTO jobs_ledgerrow"
        " SELECT id, sequence + 500, 'x', at, by_name, body, previous, hash, job_id,"
        " by_id FROM jobs_ledgerrow WHERE id = %s",
        row.pk,
    )


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="TRUNCATE is PostgreSQL's")
def test_the_database_refuses_to_empty_the_ledger(busy):
    refused_by_the_database("TRUNCATE jobs_ledgerrow")
    refused_by_the_database("TRUNCATE jobs_permit")


def test_two_rows_cannot_have_one_place(busy):
    row = rows(busy)[-1]
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(
    "values",
    [
        {"power": "limited"},
        {"power": "full"},
        {"power": "nonsense"},
        {"stage": "fixed"},
        {"cover": "ajar"},
    ],
)
def test_the_database_refuses_words_and_power_that_cannot_be(job, values):
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job).update(**values)


def test_the_database_refuses_power_of_another_permit(bench, job):
    bench.limited(job)
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job).update(power="full")


def test_the_database_refuses_to_close_a_unit_under_power(bench, job):
    bench.limited(job)
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job).update(stage="released")


def test_the_database_keeps_the_permit_while_mains_is_on(bench, job):
    bench.limited(job)
    live = Permit.objects.filter(job=job, ended_at=None)
    with pytest.raises(IntegrityError), transaction.atomic():
        live.update(ended_at=timezone.now())
    with pytest.raises(IntegrityError), transaction.atomic():
        live.delete()


def test_the_database_keeps_one_live_permit_per_job(bench, job, people, now):
    bench.limited(job)
    with pytest.raises(IntegrityError), transaction.atomic():
        Permit.objects.create(
            job_id=job, power="limited", gates="", granted_at=now, granted_by=people.owner
        )


def test_the_database_refuses_a_job_that_starts_under_power(bench, job, now):
    unit = bench.job(job).unit
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.create(unit=unit, power="limited", received_at=now, stage_since=now)


def test_a_stale_job_saves_nothing(bench, job):
    stale = bench.job(job)
    bench.record(job, "note_added", text="meanwhile")
    stale.complaint = "overwritten"
    with pytest.raises(StaleJob), transaction.atomic():
        stale.save(update_fields=["complaint", "version"])
    assert bench.job(job).complaint == "hums"


def test_a_partly_loaded_job_is_still_guarded(bench, job):
    partial = Job.objects.only("complaint", "version").get(pk=job)
    bench.record(job, "note_added", text="meanwhile")
    with pytest.raises(StaleJob), transaction.atomic():
        partial.save(update_fields=["complaint", "version"])
