"""Backups taken while the shop works, restored into an empty place, chains compared."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit

import psycopg
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from shop.backups import writing

URL = os.environ.get("BENCHTAG_DATABASE_URL", "")

WRITER = """
import os, sys, time
os.environ["DJANGO_SETTINGS_MODULE"] = "shop.site.settings"
import django; django.setup()
from django.utils import timezone
from shop.jobs import commands
from shop.accounts import roles
by = roles.make_user("technician", "technician")
jobs = [commands.receive(by=by, at=timezone.now(), make="M", model=f"{n}").number for n in range(4)]
print("ready", flush=True)
while not os.path.exists(sys.argv[1]):
    for number in jobs:
        commands.record(number, "note_added", {"text": "Пищит, 嗡嗡"}, by=by, at=timezone.now())
"""


class Place:
    """A shop of its own: a data folder, and on PostgreSQL a database."""

    def __init__(self, folder, name):
        self.folder = folder / name
        self.folder.mkdir()
        self.url = ""
        if URL:
            parts = urlsplit(URL)
            self.name = f"bench_{name}_{os.getpid()}"
            self.url = parts._replace(path=f"/{self.name}").geturl()
            self.admin = parts._replace(path="/postgres").geturl()
            with psycopg.connect(self.admin, autocommit=True) as link:
                link.execute(f"DROP DATABASE IF EXISTS {self.name}")
                link.execute(f"CREATE DATABASE {self.name}")

    @property
    def environment(self):
        clean = {
            k: v
            for k, v in os.environ.items()
            if not k.startswith(("BENCHTAG", "BENCHWARDEN", "DJANGO"))
        }
        return {
            **clean,
            "BENCHTAG_DATA": str(self.folder),
            "BENCHTAG_DATABASE_URL": self.url,
        }

    def run(self, *words):
        return subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=settings.ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )

    def chains(self):
        query = "SELECT job_id, sequence, hash FROM jobs_ledgerrow ORDER BY job_id, sequence"
        if self.url:
            with psycopg.connect(self.url) as link:
                return link.execute(query).fetchall()
        with sqlite3.connect(self.folder / "benchtag.sqlite3") as link:
            return link.execute(query).fetchall()

    def remove(self):
        if self.url:
            with psycopg.connect(self.admin, autocommit=True) as link:
                link.execute(f"DROP DATABASE {self.name} WITH (FORCE)")


@pytest.fixture
def places(tmp_path):
    if URL and not shutil.which("pg_dump"):
        pytest.skip("no pg_dump on this machine")
    made = [Place(tmp_path, name) for name in ("here", "there")]
    yield made
    for place in made:
        place.remove()


@pytest.mark.slow
def test_a_backup_of_a_working_shop_comes_back_with_every_chain(places, tmp_path):
    here, there = places
    assert here.run("migrate").returncode == 0
    stop, file = tmp_path / "stop", tmp_path / "shop.backup"
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(stop)],
        cwd=settings.ROOT,
        env=here.environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert writer.stdout.readline() == "ready\n"
    time.sleep(0.5)
    done = here.run("backup", str(file))
    time.sleep(0.3)
    stop.touch()
    assert writer.wait(20) == 0
    assert done.returncode == 0, done.stderr

    back = there.run("restore", str(file))

    assert "every chain intact" in back.stdout, back.stderr
    restored, live = there.chains(), set(here.chains())
    assert 4 < len(restored) < len(live), "it was taken in the middle of the work"
    assert set(restored) <= live
    by_job = {}
    for job, sequence, _ in restored:
        by_job.setdefault(job, []).append(sequence)
    assert all(rows == list(range(1, len(rows) + 1)) for rows in by_job.values())

    again = there.run("restore", str(file))
    assert again.returncode == 2
    assert "already" in again.stderr
    assert there.chains() == restored, "a restore never overwrites"
    assert here.run("backup", str(file)).returncode == 2


def test_what_is_no_backup_is_refused_and_leaves_the_place_empty(places, tmp_path):
    bad = tmp_path / "bad"
    bad.write_text("not a database")
    answer = places[1].run("restore", str(bad))
    assert answer.returncode == 2
    assert answer.stderr.strip()
    assert places[1].run("restore", str(tmp_path / "none")).returncode == 2


def test_dated_backups_are_kept_by_number(tmp_path, monkeypatch):
    def write(file, *, now, passphrase):
        for each in (file, *writing.heads_of(file)):
            each.write_text("x")
        return True

    monkeypatch.setattr(writing, "backup", write)
    (tmp_path / "benchtag-notes.txt").write_text("mine")
    now = datetime(2026, 11, 25, 3, tzinfo=UTC)
    for day in range(5):
        newest, _ = writing.backup_into(tmp_path, now=now + timedelta(days=day))
        writing.leave_newest(tmp_path, 3)
    names = sorted(f.name for f in tmp_path.iterdir())
    assert len([name for name in names if ".heads" in name]) == 6
    names = [name for name in names if ".heads" not in name]
    assert names == [
        "benchtag-20261127-030000.backup",
        "benchtag-20261128-030000.backup",
        "benchtag-20261129-030000.backup",
        "benchtag-notes.txt",
    ]
    assert newest.name == names[2]
    with pytest.raises(writing.BackupError, match="is no folder"):
        writing.backup_into(tmp_path / "none", now=now)


def test_one_that_does_not_hold_displaces_no_sound_one(tmp_path):
    sound = tmp_path / "benchtag-20261126-030000.backup"
    bad = tmp_path / "benchtag-20261127-030000.backup"
    for file in (sound, bad):
        for each in (file, *writing.heads_of(file)):
            each.write_text("x")
    aside = writing.set_aside(bad, keep=1)
    writing.leave_newest(tmp_path, 1)
    assert [each.exists() for each in (sound, bad, aside)] == [True, False, True]
    assert len(writing.with_heads(aside)) == 3


def test_the_command_wants_one_target():
    for words in (("backup",), ("backup", "x", "--into", "y"), ("backup", "x", "--nightly")):
        with pytest.raises(CommandError, match="Name a new FILE") as caught:
            call_command(*words)
        assert caught.value.returncode == 2
    with pytest.raises(CommandError, match="keep is 0"):
        call_command("backup", "--into", "y", "--keep", "0")
