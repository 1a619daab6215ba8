"""A shop made before the project was called Benchtag opens, restores and imports, every chain intact.

The files were written by the release before the renaming: its demo shop as a backup of SQLite,
and as a bundle with everything.
"""

from __future__ import annotations

import lzma
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from shop.jobs import power_triggers

pytestmark = pytest.mark.process

OLD = Path(__file__).parent.parent / "fixtures" / "before-benchtag"
ROWS = 1181


@pytest.fixture
def shop(tmp_path):
    """Run commands on a data folder, without any setting but the folder."""
    clean = {
        k: v
        for k, v in os.environ.items()
        if not k.startswith(("BENCHTAG", "BENCHWARDEN", "DJANGO"))
    }

    def run(*words, prefix="BENCHTAG"):
        done = subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=settings.ROOT,
            env={**clean, f"{prefix}_DATA": str(tmp_path)},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout + done.stderr

    return run


def unpack(target):
    target.write_bytes(lzma.decompress((OLD / "backup.sqlite3.xz").read_bytes()))
    return target


def chains(file):
    with sqlite3.connect(file) as link:
        query = "SELECT job_id, sequence, hash FROM jobs_ledgerrow ORDER BY job_id, sequence"
        return link.execute(query).fetchall()


def columns(file):
    with sqlite3.connect(file) as link:
        return {row[1] for row in link.execute("PRAGMA table_info(jobs_ledgerrow)")}


@pytest.mark.slow
def test_the_triggers_of_an_old_shop_are_those_of_a_new_one(shop, tmp_path):
    file = unpack(tmp_path / "benchtag.sqlite3")
    assert "handled_at" in columns(file)
    shop("migrate")
    assert "handled_at" not in columns(file)
    with sqlite3.connect(file) as link:
        placed = dict(link.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        assert placed.keys() >= power_triggers.SQLITE.keys()
        assert "ledger_handled_once" not in placed
        for statement in ("UPDATE jobs_ledgerrow SET id = id", "DELETE FROM jobs_ledgerrow"):
            with pytest.raises(sqlite3.IntegrityError, match="cannot be"):
                link.execute(statement)


def test_the_data_folder_of_an_old_shop_opens_unchanged(shop, tmp_path):
    file = unpack(tmp_path / "benchwarden.sqlite3")
    before = chains(file)
    assert f"{ROWS} rows, every chain intact" in shop("ledger", "verify"), "before it is migrated"
    shop("backup", str(tmp_path / "before.backup"))
    shop("migrate")
    assert f"{ROWS} rows, every chain intact" in shop("ledger", "verify")
    assert chains(file) == before
    assert not (tmp_path / "benchtag.sqlite3").exists()


@pytest.mark.slow
def test_a_backup_of_an_old_shop_is_restored(shop, tmp_path):
    file = unpack(tmp_path / "old.backup")
    shop("restore", str(file))
    shop("migrate")
    assert f"{ROWS} rows, every chain intact" in shop("ledger", "verify")
    assert chains(tmp_path / "benchtag.sqlite3") == chains(file)


@pytest.mark.slow
def test_a_bundle_of_an_old_shop_is_taken_in(shop):
    shop("migrate")
    shop("import", str(OLD / "bundle.zip"))
    assert f"{ROWS} rows, every chain intact" in shop("ledger", "verify")


def test_a_variable_under_the_old_name_is_read_and_named(shop, tmp_path):
    unpack(tmp_path / "benchtag.sqlite3")
    shop("migrate", prefix="BENCHWARDEN")
    assert f"{ROWS} rows" in shop("ledger", "verify", prefix="BENCHWARDEN")
    said = shop("check", prefix="BENCHWARDEN")
    assert "BENCHWARDEN_DATA is read for now; its name is BENCHTAG_DATA." in said


@pytest.mark.slow
def test_units_of_an_old_shop_are_settled_and_its_open_jobs_stay(shop, tmp_path):
    """Two open jobs of one unit, spelled twice, one with mains; two units that share "n/a"."""
    file = unpack(tmp_path / "benchtag.sqlite3")
    with sqlite3.connect(file) as link:
        query = "SELECT number, unit_id FROM jobs_job WHERE closed_at IS NULL ORDER BY power DESC"
        jobs = link.execute(query).fetchall()
        [(live, a), (twin, b), (third, c), (fourth, _)] = jobs[:4]
        name = "UPDATE jobs_unit SET make = 'Corvenby', model = 'Spool 3', serial = ? WHERE id = ?"
        for serial, unit in (("K-1", a), ("k 1", b), ("n/a", c)):
            link.execute(name, (serial, unit))
        link.execute("UPDATE jobs_job SET unit_id = ? WHERE number = ?", (c, fourth))
        [(power,)] = link.execute("SELECT power FROM jobs_job WHERE number = ?", (live,))
    assert power == "limited"
    before = chains(file)
    shop("migrate")
    with sqlite3.connect(file) as link:
        after = dict(link.execute("SELECT number, unit_id FROM jobs_job WHERE closed_at IS NULL"))
        mains = dict(link.execute("SELECT number, power FROM jobs_job"))
    assert len(after) == len(jobs)
    assert after[live] == after[twin] == min(a, b)
    assert after[third] != after[fourth]
    assert mains[live] == power
    assert chains(file) == before
    assert f"{ROWS} rows, every chain intact" in shop("ledger", "verify")
