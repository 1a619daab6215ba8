"""What a restore takes: proved beside the place, moved there whole, or kept aside; never half."""

from __future__ import annotations

import io
import os
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime

import psycopg
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from shop.backups import restoring, writing
from shop.jobs import database_guards, head_lists, shop_keys
from shop.jobs.models import ShopKey
from shop.site import start
from tests.backups.test_writing import Place
from tests.helpers import amplifier

NOW = datetime(2026, 11, 27, 3, tzinfo=UTC)
ON_SQLITE = pytest.mark.skipif(connection.vendor != "sqlite", reason="a file of SQLite")
ON_POSTGRESQL = pytest.mark.skipif(connection.vendor != "postgresql", reason="pg_restore")


@pytest.fixture
def backup(bench, tmp_path, transactional_db):
    """A backup of a shop with one unit on the limiter and one isolated."""
    bench.limited(bench.receive(facts=amplifier()))
    bench.record(
        bench.receive(make="Second", serial="S-2", reference="R-2"), "note_added", text="x"
    )
    file = tmp_path / "shop.backup"
    with sqlite3.connect(connection.settings_dict["NAME"]) as live:
        copy = sqlite3.connect(file)
        live.backup(copy)
        copy.close()
    return file


def change(file, *statements):
    """Change a backup as who holds the file can, triggers or not."""
    link = sqlite3.connect(file)
    names = link.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in names:
        link.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        link.execute(statement)
    for _, sql in names:
        link.execute(sql)
    link.commit()
    link.close()


def restore(file, folder):
    heads = restoring.heads_beside(file)
    return restoring.restore_sqlite(file, folder / "benchtag.sqlite3", now=NOW, heads=heads)


@pytest.fixture
def place(tmp_path):
    folder = tmp_path / "there"
    folder.mkdir()
    return folder


@ON_SQLITE
def test_a_backup_comes_back_whole_and_private(backup, place):
    restored = restore(backup, place)
    assert (restored.jobs, restored.missed) == (2, [])
    assert [file.name for file in place.iterdir()] == ["benchtag.sqlite3"]
    assert (place / "benchtag.sqlite3").stat().st_mode & 0o777 == 0o600


CLAIMS = [
    ("UPDATE jobs_job SET power = 'full' WHERE reference = 'R-2'", "says power 'full'"),
    ("UPDATE jobs_job SET power = 'full' WHERE reference IS NULL", "says power 'full'"),
    ("UPDATE jobs_job SET power = 'isolated'", "says power 'isolated'; its ledger says 'limited'"),
    ("UPDATE jobs_job SET stage = 'soaking'", "says stage 'soaking'"),
    ("UPDATE jobs_job SET cover = 'off' WHERE reference = 'R-2'", "says cover 'off'"),
    (
        "UPDATE jobs_job SET closed_at = received_at WHERE reference = 'R-2'",
        "is open by its ledger",
    ),
    ("UPDATE jobs_permit SET power = 'full'", "has a live permit for full; by its ledger"),
    ("UPDATE jobs_permit SET ended_at = granted_at", "has no live permit"),
    ("DELETE FROM jobs_permit", "has no live permit"),
    ("UPDATE jobs_ledgerrow SET body = '{}' WHERE kind = 'power_applied'", "was altered"),
    ("DELETE FROM jobs_ledgerrow WHERE kind = 'power_applied'", "the ledger ends at"),
    ("DELETE FROM jobs_unit WHERE serial = 'S-2'", "points at nothing"),
    ("CREATE VIEW strange AS SELECT 1", "has a view of its own, strange"),
    (
        "CREATE TRIGGER quiet AFTER UPDATE ON jobs_job BEGIN SELECT 1; END",
        "triggers that no release has: quiet",
    ),
    ("INSERT INTO bills_numberseries VALUES (2031, 1)", "Bills of 2031: 0 are there"),
]


@ON_SQLITE
@pytest.mark.parametrize(("statement", "said"), CLAIMS)
def test_what_the_record_does_not_give_is_told_and_kept_aside(backup, place, statement, said):
    change(backup, statement)
    with pytest.raises(restoring.Damaged) as caught:
        restore(backup, place)
    assert any(said in fault for fault in caught.value.faults), caught.value.faults
    [kept] = place.iterdir()
    assert kept.name == "benchtag.sqlite3.damaged-20261127-030000"
    assert str(kept) in str(caught.value)


@ON_SQLITE
def test_a_backup_that_was_forged_anew_is_told_by_the_heads_beside_it(backup, place, tmp_path):
    """A note taken off the end of a chain: every hash is right, and the row that was signed is gone."""
    key, row = shop_keys.for_signing(NOW)
    change(backup)
    link = sqlite3.connect(backup)
    columns = ", ".join(
        field.column for field in ShopKey._meta.concrete_fields if field.name != "id"
    )
    values = (row.public_key, row.fingerprint, "2026-11-27", None, "", "")
    link.execute(f"INSERT INTO jobs_shopkey ({columns}) VALUES (?, ?, ?, ?, ?, ?)", values)
    heads = link.execute(head_lists._HEADS).fetchall()
    link.commit()
    link.close()
    for file, content in zip(
        writing.heads_of(backup), head_lists.write(heads, (key, row), "2026-11-27"), strict=True
    ):
        file.write_bytes(content)
    assert restore(backup, place).jobs == 2
    (place / "benchtag.sqlite3").unlink()

    second = "(SELECT number FROM jobs_job WHERE reference = 'R-2')"
    last = "(SELECT MAX(sequence) FROM jobs_ledgerrow WHERE job_id = job)"
    last = last.replace("= job", f"= {second}")
    gone = f"DELETE FROM jobs_ledgerrow WHERE job_id = {second} AND sequence = {last}"
    change(backup, gone, f"UPDATE jobs_job SET head = head - 1 WHERE number = {second}")
    with pytest.raises(restoring.Damaged) as caught:
        restore(backup, place)
    assert "was signed on 2026-11-27 and is gone" in caught.value.faults[0]


@ON_SQLITE
def test_a_backup_without_triggers_gets_them(backup, place):
    link = sqlite3.connect(backup)
    link.execute("DROP TRIGGER permit_never_changed")
    link.execute("DROP TRIGGER movement_no_delete")
    link.close()
    restored = restore(backup, place)
    assert restored.missed == [
        "The trigger permit_never_changed is missing.",
        "The trigger movement_no_delete is missing.",
    ]
    link = sqlite3.connect(place / "benchtag.sqlite3")
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        link.execute("UPDATE jobs_permit SET power = 'full'")
    link.close()


@ON_SQLITE
@pytest.mark.parametrize(
    "content", [b"", b"not a database", b"SQLite format 3\x00", b"SQLite format 3\x00" * 1000]
)
def test_what_is_no_database_is_a_sentence_and_leaves_nothing(tmp_path, place, content, db):
    file = tmp_path / "bad"
    file.write_bytes(content)
    with pytest.raises(writing.BackupError, match=r"no sound backup|is no database|is broken|hold"):
        restore(file, place)
    assert not [kept for kept in place.iterdir() if ".damaged-" not in kept.name]


@ON_SQLITE
def test_a_restore_that_was_killed_is_begun_anew(backup, place):
    (place / "benchtag.sqlite3.restoring").write_bytes(b"half")
    (place / "benchtag.sqlite3.restoring-wal").write_bytes(b"half")
    assert restore(backup, place).jobs == 2
    assert [file.name for file in place.iterdir()] == ["benchtag.sqlite3"]


@ON_SQLITE
def test_nothing_is_put_over_a_shop(backup, place):
    (place / "benchtag.sqlite3").write_bytes(b"mine")
    with pytest.raises(writing.BackupError, match="is there already"):
        restore(backup, place)
    assert (place / "benchtag.sqlite3").read_bytes() == b"mine"


def drop(name, table):
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on}")


class TestStart:
    def test_a_database_with_its_triggers_is_served(self, db, client):
        assert start.faults() == []
        start.require_sound()
        call_command("check", databases=["default"], stderr=io.StringIO())
        assert client.get("/healthz/ready").status_code == 200

    def test_without_one_nothing_starts_and_readiness_says_so(self, db, client, capsys):
        drop("job_power_update", "jobs_job")
        fault = "The trigger job_power_update is missing."
        with pytest.raises(SystemExit) as caught:
            start.require_sound()
        assert caught.value.code == 2
        assert fault in capsys.readouterr().err
        with pytest.raises(CommandError, match=fault):
            call_command("check", databases=["default"], stderr=io.StringIO())
        answer = client.get("/healthz/ready")
        assert (answer.status_code, answer.json()["reason"]) == (503, fault)

    def test_ledger_protect_puts_them_back_when_the_record_holds(self, bench, job):
        drop("job_power_update", "jobs_job")
        errors, out = io.StringIO(), io.StringIO()
        call_command("ledger", "verify", stdout=out, stderr=errors)
        assert "job_power_update is missing" in errors.getvalue()
        call_command("ledger", "protect", stdout=out, stderr=errors)
        assert out.getvalue().endswith("Every trigger is in place.\n")
        assert start.faults() == []

    def test_ledger_protect_covers_nothing_up(self, bench, job):
        drop("job_power_update", "jobs_job")
        with connection.cursor() as cursor:
            cursor.execute("UPDATE jobs_job SET power = 'full'")
        errors = io.StringIO()
        with pytest.raises(CommandError, match="breaks found"):
            call_command("ledger", "protect", stderr=errors)
        assert "says power 'full'; its ledger says 'isolated'" in errors.getvalue()
        assert start.faults()

    @ON_SQLITE
    def test_a_trigger_of_nobody_is_told(self, db):
        with connection.cursor() as cursor:
            cursor.execute("CREATE TRIGGER mine AFTER UPDATE ON jobs_job BEGIN SELECT 1; END")
        assert start.faults() == ["The trigger mine is of no release."]
        assert database_guards.faults(connection) == []


@pytest.mark.process
@ON_SQLITE
def test_the_page_server_ends_on_a_database_without_triggers(tmp_path):
    place = Place(tmp_path, "here")
    assert place.run("migrate").returncode == 0
    link = sqlite3.connect(place.folder / "benchtag.sqlite3")
    link.execute("DROP TRIGGER ledger_no_update")
    link.close()
    done = subprocess.run(
        [sys.executable, "-m", "granian", "--interface", "asginl", "--port", "8917", "--factory",
         "shop.site.asgi:served"],
        cwd=settings.ROOT,
        env=place.environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )  # fmt: skip
    assert done.returncode != 0
    assert "The trigger ledger_no_update is missing." in done.stderr
    assert "Traceback" not in done.stderr
    for words in (("watch", "--once"), ("migrate",), ("quickstart", "--empty", "--port", "8917")):
        answer = place.run(*words)
        assert answer.returncode != 0, words
        assert "ledger_no_update is missing" in answer.stderr


@pytest.mark.process
@ON_POSTGRESQL
class TestPostgreSQL:
    @pytest.fixture
    def places(self, tmp_path):
        made = [Place(tmp_path, name) for name in ("here", "there")]
        yield made
        for place in made:
            place.remove()

    def test_what_does_not_hold_is_kept_aside_and_the_place_is_empty(self, places, tmp_path):
        here, there = places
        assert here.run("migrate").returncode == 0
        number = self._received(here)
        with psycopg.connect(here.url, autocommit=True) as link:
            link.execute("ALTER TABLE jobs_job DISABLE TRIGGER USER")
            link.execute("UPDATE jobs_job SET power = 'full'")
        assert here.run("backup", str(tmp_path / "x.backup")).returncode == 0
        answer = there.run("restore", str(tmp_path / "x.backup"))
        assert answer.returncode == 2
        assert f"Job {number} says power 'full'" in answer.stderr
        assert "kept as schema damaged_" in answer.stderr
        with psycopg.connect(there.url) as link:
            query = "SELECT schemaname FROM pg_tables WHERE tablename = 'jobs_job'"
            [(schema,)] = link.execute(query).fetchall()
        assert schema.startswith("damaged_")
        # The place is empty, and takes a sound one.
        with psycopg.connect(here.url, autocommit=True) as link:
            link.execute("UPDATE jobs_job SET power = 'isolated'")
        assert here.run("backup", str(tmp_path / "y.backup")).returncode == 0
        answer = there.run("restore", str(tmp_path / "y.backup"))
        assert answer.returncode == 0, answer.stderr
        assert "not that of this edition" in answer.stderr, "it was switched off in the backup"
        with psycopg.connect(there.url) as link, pytest.raises(psycopg.errors.IntegrityError):
            link.execute("UPDATE jobs_job SET power = 'full'")

    def test_a_restore_that_did_not_end_is_not_served(self, places):
        here, _ = places
        assert here.run("migrate").returncode == 0
        with psycopg.connect(here.url, autocommit=True) as link:
            link.execute(f"CREATE SCHEMA {restoring.UNFINISHED}")
        answer = here.run("watch", "--once")
        assert answer.returncode == 2
        assert "was not finished" in answer.stderr

    def _received(self, place):
        script = (
            "import os; os.environ['DJANGO_SETTINGS_MODULE'] = 'shop.site.settings'\n"
            "import django; django.setup()\n"
            "from django.utils import timezone\n"
            "from shop.jobs import commands\n"
            "from shop.accounts import roles\n"
            "by = roles.make_user('t', 'technician')\n"
            "print(commands.receive(by=by, at=timezone.now(), make='M').number)"
        )
        command = [sys.executable, "-c", script]
        return int(
            subprocess.check_output(command, cwd=settings.ROOT, env=place.environment, text=True)
        )


def test_nothing_is_left_of_the_alias(db):
    from django.db import connections  # noqa: PLC0415

    assert set(connections) == {"default"}
    assert os.path.exists(settings.DATA)
