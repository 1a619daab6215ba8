"""Ten thousand damaged or forged bundles and backups: a sentence each, or a shop as it was.

BENCHTAG_SEED draws the same ones again; a failure prints the seed of its file.
"""

from __future__ import annotations

import io
import os
import sqlite3
from datetime import UTC, datetime

import pytest
from django.db import connection, transaction
from django.utils import timezone

from shop.backups import restoring, writing
from shop.jobs import database_guards, queries
from shop.jobs.models import Job, LedgerRow, Permit
from shop.transfer import bundle_import, export
from tests.helpers import Bench, TestPeople, amplifier
from tests.photos.pictures import snap
from tests.transfer import mutating

NOW = datetime(2026, 11, 27, 3, tzinfo=UTC)
FEW, CHUNKS, IN_A_CHUNK = 150, 20, 250
ON_SQLITE = pytest.mark.skipif(connection.vendor != "sqlite", reason="a file of SQLite")
GRAVE = (
    "SELECT number, stage, power, cover FROM jobs_job ORDER BY number",
    "SELECT job_id, power FROM jobs_permit WHERE ended_at IS NULL ORDER BY job_id",
    "SELECT job_id, sequence, hash FROM jobs_ledgerrow ORDER BY job_id, sequence",
)


def seeds(chunk, count):
    first = int(os.environ["BENCHTAG_SEED"]) * 1_000_003 + chunk * count
    return range(first, first + count)


def grave(execute):
    """What power hangs on, as a database has it."""
    return [[tuple(row) for row in execute(query)] for query in GRAVE]


def grave_here():
    with connection.cursor() as cursor:

        def execute(query):
            cursor.execute(query)
            return cursor.fetchall()

        return grave(execute)


def require_sentence(error, seed):
    said = str(error)
    assert 10 < len(said) < 700, (seed, said)
    assert said.endswith("."), (seed, said)
    assert "Traceback" not in said, (seed, said)
    assert "\n" not in said, (seed, said)


def fill():
    """A small shop: one unit on the limiter, one that was and is off, one received; a photo."""
    bench = Bench(TestPeople.make().technician)
    bench.limited(bench.receive(facts=amplifier()))
    off = bench.receive(make="Second", serial="S-2")
    bench.limited(off)
    bench.power(off, "isolated")
    snap(bench.receive(make="Third", serial="S-3"), by=bench.by)


@pytest.fixture
def bundle(db):
    """A bundle, and what it holds; the shop that it is of is gone again."""
    file = io.BytesIO()
    with transaction.atomic():
        fill()
        export.export_shop(file, now=timezone.now())
        was = grave_here()
        transaction.set_rollback(True)
    assert not Job.objects.exists()
    return file.getvalue(), was


def take_in(raw, was, seed, file):
    file.write_bytes(raw)
    with transaction.atomic():
        try:
            bundle_import.import_shop(file)
        except bundle_import.BundleError as error:
            require_sentence(error, seed)
            assert not any(m.objects.exists() for m in (Job, LedgerRow, Permit)), seed
            taken = False
        else:
            assert list(queries.ledger_faults()) == [], seed
            assert grave_here() == was, seed
            taken = True
        assert database_guards.faults(connection) == [], seed
        transaction.set_rollback(True)
    return taken


def walk_bundles(bundle, tmp_path, chunk, count):
    raw, was = bundle
    assert take_in(raw, was, "none", tmp_path / "x.zip"), "the bundle itself is taken"
    taken = 0
    for seed in seeds(chunk, count):
        taken += take_in(mutating.bundle(raw, seed), was, seed, tmp_path / "x.zip")
    print(f"seeds {seeds(chunk, count)}: {count - taken} refused, {taken} taken unharmed")


def test_a_few_hundred_bundles(bundle, tmp_path):
    walk_bundles(bundle, tmp_path, 0, FEW)


@pytest.mark.slow
@pytest.mark.parametrize("chunk", range(1, CHUNKS + 1))
def test_thousands_of_bundles(bundle, tmp_path, chunk):
    walk_bundles(bundle, tmp_path, chunk, IN_A_CHUNK)


@pytest.fixture
def backup(transactional_db, tmp_path):
    """A backup of the small shop, and what it holds."""
    fill()
    file = tmp_path / "shop.backup"
    live, copy = sqlite3.connect(connection.settings_dict["NAME"]), sqlite3.connect(file)
    live.backup(copy)
    was = grave(lambda query: copy.execute(query).fetchall())
    live.close()
    copy.close()
    return file, was


def bring_back(file, was, seed, place):
    target = place / "benchtag.sqlite3"
    try:
        restoring.restore_sqlite(file, target, now=NOW)
    except writing.BackupError as error:
        require_sentence(error, seed)
        for fault in getattr(error, "faults", []):
            require_sentence(fault + ".", seed)
        assert not target.exists(), seed
        taken = False
    else:
        link = sqlite3.connect(target)
        assert grave(lambda query: link.execute(query).fetchall()) == was, seed
        link.close()
        taken = True
    names = {kept.name.partition(".damaged-")[0] for kept in place.iterdir()}
    assert names <= {"benchtag.sqlite3"}, seed
    for kept in place.iterdir():
        kept.unlink()
    return taken


def walk_backups(backup, tmp_path, chunk, count):
    file, was = backup
    place, wrong = tmp_path / "there", tmp_path / "wrong"
    place.mkdir()
    assert bring_back(file, was, "none", place), "the backup itself is taken"
    taken = 0
    for seed in seeds(chunk, count):
        mutating.backup(file, wrong, seed)
        taken += bring_back(wrong, was, seed, place)
    print(f"seeds {seeds(chunk, count)}: {count - taken} refused, {taken} taken unharmed")


@ON_SQLITE
def test_a_few_hundred_backups(backup, tmp_path):
    walk_backups(backup, tmp_path, 0, FEW)


@ON_SQLITE
@pytest.mark.slow
@pytest.mark.parametrize("chunk", range(1, CHUNKS + 1))
def test_thousands_of_backups(backup, tmp_path, chunk):
    walk_backups(backup, tmp_path, chunk, IN_A_CHUNK)
