"""A permit in the database is never replaced, raised, moved or opened again, whoever holds the file."""

from __future__ import annotations

import sqlite3

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from shop.jobs import power_triggers
from shop.jobs.models import Job, Permit

ON_SQLITE = pytest.mark.skipif(connection.vendor != "sqlite", reason="OR REPLACE is SQLite's")
COLUMNS = "id, job_id, power, gates, granted_at, granted_by_id, ended_at, ended_because"


def refused(statement, *values, said="permit"):
    cursor = connection.cursor()
    with cursor, pytest.raises(IntegrityError, match=said), transaction.atomic():
        cursor.execute(statement, values)


@pytest.fixture
def live(bench, job):
    """A unit on the limiter, under its permit."""
    bench.limited(job)
    return Permit.objects.get(job=job)


@pytest.mark.parametrize(
    "change",
    [
        "power = 'full'",
        "gates = 'full-power'",
        "id = id + 1000",
        "granted_at = '2020-01-01'",
        "granted_by_id = granted_by_id + 1",
        "ended_at = '2030-01-01'",
    ],
)
def test_a_permit_is_changed_in_no_column(live, change):
    before = Permit.objects.values().get()
    refused(f"UPDATE jobs_permit SET {change} WHERE id = %s", live.pk, said=r"permit|constraint")
    assert Permit.objects.values().get() == before


def test_a_permit_goes_to_no_other_job(bench, live):
    other = bench.receive(make="Another")
    refused("UPDATE jobs_permit SET job_id = %s WHERE id = %s", other, live.pk)


def test_an_ended_permit_is_not_opened_again(bench, job, live):
    bench.power(job, "isolated")
    refused("UPDATE jobs_permit SET ended_at = NULL WHERE id = %s", live.pk)
    refused("UPDATE jobs_permit SET ended_because = 'x' WHERE id = %s", live.pk)


UPSERTS = [
    f"INSERT INTO jobs_permit ({COLUMNS}) SELECT {COLUMNS.replace('power', chr(39) + 'full' + chr(39))}"
    " FROM jobs_permit WHERE id = %s ON CONFLICT (id) DO UPDATE SET power = excluded.power",
    f"INSERT INTO jobs_permit ({COLUMNS}) SELECT {COLUMNS} FROM jobs_permit WHERE id = %s"
    " ON CONFLICT (id) DO UPDATE SET ended_at = '2030-01-01'",
]
REPLACES = [
    f"INSERT OR REPLACE INTO jobs_permit ({COLUMNS}) SELECT {COLUMNS.replace('power', chr(39) + 'full' + chr(39))}"
    " FROM jobs_permit WHERE id = %s",
    f"REPLACE INTO jobs_permit ({COLUMNS.replace('id, ', '', 1)})"
    f" SELECT {COLUMNS.replace('id, ', '', 1)} FROM jobs_permit WHERE id = %s",
    "UPDATE OR REPLACE jobs_permit SET id = id + 1 WHERE id = %s",
]


@pytest.mark.parametrize("statement", UPSERTS)
def test_a_permit_is_not_put_in_the_place_of_another(live, statement):
    before = Permit.objects.values().get()
    refused(statement, live.pk)
    assert Permit.objects.values().get() == before


@ON_SQLITE
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
@pytest.mark.parametrize("statement", REPLACES)
def test_a_permit_is_not_replaced_whatever_the_triggers_recurse(live, statement, recursive):
    """SQLite, lang_conflict: REPLACE fires delete triggers only with recursive_triggers on."""
    before = Permit.objects.values().get()
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA recursive_triggers = {recursive}")
    try:
        refused(statement, live.pk)
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA recursive_triggers = OFF")
    assert Permit.objects.values().get() == before


@ON_SQLITE
def test_a_job_is_not_replaced(bench, live):
    number, other = live.job_id, bench.receive(make="Another", reference="R-1")
    columns = ", ".join(field.column for field in Job._meta.concrete_fields)
    copy = f"INSERT OR REPLACE INTO jobs_job ({columns}) SELECT {columns} FROM jobs_job"
    refused(f"{copy} WHERE number = %s", other, said="of another job")
    with_reference = columns.replace("reference", "'R-1'", 1).replace("number", "number + 500", 1)
    with_reference = with_reference.replace("power", "'isolated'", 1)
    refused(
        f"INSERT OR REPLACE INTO jobs_job ({columns}) SELECT {with_reference} FROM jobs_job"
        " WHERE number = %s",
        number,
        said="reference",
    )
    take = "UPDATE OR REPLACE jobs_job SET"
    refused(f"{take} reference = 'R-1' WHERE number = %s", number, said="reference")
    refused(f"{take} number = %s WHERE number = %s", other, number, said="keeps its number")


def test_a_job_keeps_its_number(live):
    refused("UPDATE jobs_job SET number = number + 500", said="keeps its number")


def test_the_permit_in_force_is_not_ended_and_the_other_may_be(bench, job, live, people, now):
    full = {"power": "full", "gates": "", "granted_at": now, "granted_by": people.owner}
    Permit.objects.create(job_id=job, **full)
    refused(
        "UPDATE jobs_permit SET ended_at = granted_at WHERE id = %s", live.pk, said="mains is on"
    )
    Permit.objects.filter(job=job, power="full").update(ended_at=timezone.now())


def test_what_guards_the_permits_is_missed_when_it_is_gone(db):
    assert power_triggers.faults(connection) == []
    on = " ON jobs_permit" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER permit_never_changed{on}")
    assert power_triggers.faults(connection) == ["The trigger permit_never_changed is missing."]


@ON_SQLITE
def test_a_trigger_that_says_something_else_is_told(db):
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER permit_kept")
        cursor.execute(
            "CREATE TRIGGER permit_kept BEFORE DELETE ON jobs_permit BEGIN SELECT 1; END"
        )
    fault = "The trigger permit_kept is not that of this edition."
    assert power_triggers.faults(connection) == [fault]


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite cannot switch one off")
@pytest.mark.parametrize(
    "statement",
    [
        "ALTER TABLE jobs_permit DISABLE TRIGGER permit_kept",
        "CREATE OR REPLACE FUNCTION bench_refuse() RETURNS trigger LANGUAGE plpgsql"
        " AS $$BEGIN RETURN NEW; END$$",
    ],
)
def test_a_trigger_that_is_off_or_hollow_is_told(db, statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
    fault = "The trigger permit_kept is not that of this edition."
    assert fault in power_triggers.faults(connection)


@ON_SQLITE
def test_another_program_meets_the_same_refusals(tmp_path, live):
    """The triggers lie in the file: a copy of it, opened without this project, refuses as well."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'jobs_permit'"
        )
        triggers = [sql for (sql,) in cursor.fetchall()]
    other = sqlite3.connect(":memory:")
    other.execute(
        f"CREATE TABLE jobs_permit ({COLUMNS.replace('id,', 'id INTEGER PRIMARY KEY,', 1)})"
    )
    other.execute("CREATE TABLE jobs_job (number INTEGER PRIMARY KEY, power)")
    for sql in triggers:
        other.execute(sql)
    other.execute(
        f"INSERT INTO jobs_permit ({COLUMNS}) VALUES (1, 5, 'limited', '', 0, 1, NULL, '')"
    )
    for statement in REPLACES:
        with pytest.raises(sqlite3.IntegrityError, match="permit"):
            other.execute(statement.replace("%s", "1"))
    other.close()
