"""A backup of the night: proved by a restore, taken elsewhere, recorded, and due when it is due."""

from __future__ import annotations

import fcntl
import os
import shutil
import sqlite3
import subprocess
import sys
from collections import namedtuple
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from shop.backups import nightly, queries, writing
from shop.backups.models import BackupRun
from shop.lib import age
from shop.site import env, nightly_backup
from tests.helpers import amplifier

NOON = datetime(2026, 11, 27, 12, tzinfo=UTC)
pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor == "postgresql" and not shutil.which("pg_dump"), reason="no pg_dump"
    ),
]


@pytest.fixture
def place(settings, tmp_path):
    settings.DATA = tmp_path / "data"
    settings.BACKUP_FOLDER = settings.DATA / "backups"
    settings.BACKUP_FOLDER.mkdir(parents=True)
    settings.NIGHTLY_BACKUP = True
    return settings.BACKUP_FOLDER


def make(place, **more):
    return nightly.run(place, **{"keep": 3, "now": timezone.now(), **more})


def names(folder):
    return sorted(f.name for f in folder.iterdir() if f.suffix in (".backup", ".age", ".unsound"))


def test_it_is_proved_by_a_restore_and_nothing_of_the_trial_stays(bench, place, settings):
    bench.receive(make="Corvenby", facts=amplifier())
    made = make(place)
    assert (made.sound, made.fault) == (True, "")
    assert made.size == (place / names(place)[0]).stat().st_size > 0
    assert {f.name for f in settings.DATA.iterdir()} == {"backups", "ledger-key"}
    assert BackupRun.objects.get() == made


def test_a_second_one_into_the_same_folder_waits_for_nobody(place):
    handle = os.open(place / ".making", os.O_RDWR | os.O_CREAT)
    fcntl.flock(handle, fcntl.LOCK_EX)
    with pytest.raises(writing.BackupError, match="is being made"):
        make(place)
    os.close(handle)
    assert make(place).sound


def test_what_was_killed_on_the_way_leaves_nothing(place, settings):
    part = place / "benchtag-20261126-020000.backup.part"
    plain = settings.DATA / "benchtag-20261126-020000.backup.age.part.77.plain"
    mine = place / "letters.part"
    for file in (part, plain, mine):
        file.write_text("x")
    make(place)
    assert [file.exists() for file in (part, plain, mine)] == [False, False, True]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a row is changed behind the triggers")
def test_one_that_does_not_hold_is_set_aside_and_told(bench, place, monkeypatch):
    bench.receive(make="Corvenby", facts=amplifier())
    sound = make(place, now=NOON - timedelta(days=1))
    plain = writing._write

    def forged(partial):
        plain(partial)
        # Closed, so that nothing stays in a log of writes beside it.
        with closing(sqlite3.connect(partial)) as link, link:
            link.execute("UPDATE jobs_job SET cover = 'off'")

    monkeypatch.setattr(writing, "_write", forged)
    made = make(place, keep=1, now=NOON)
    assert not made.sound
    assert "cover 'off'" in made.fault
    assert names(place) == [
        "benchtag-20261126-120000.backup",
        "benchtag-20261127-120000.backup.unsound",
    ]
    state = queries.state(NOON)
    assert state.sound_at == sound.began_at
    assert state.sentence.startswith("The last sound backup is 1 day old. The last one went wrong:")


def test_it_is_encrypted_and_proved_by_the_passphrase(place, settings, monkeypatch):
    monkeypatch.setattr(age, "WORK_FACTOR", 4)
    settings.BACKUP_PASSPHRASE = "a kettle, two lamps"
    call_command("backup", "--nightly")
    (file,) = names(place)
    assert file.endswith(".backup.age")
    assert age.is_age((place / file).read_bytes())
    assert BackupRun.objects.get().sound


def test_a_copy_goes_into_a_second_folder_with_its_heads(bench, place, settings, tmp_path):
    second = tmp_path / "stick"
    settings.BACKUP_COPY_TO = str(second)
    made = make(place)
    assert made.sound
    assert "is its disk plugged in?" in made.fault
    assert "plugged in" in queries.state(timezone.now()).sentence

    second.mkdir()
    for hours in range(1, 4):
        made = make(place, keep=2, now=timezone.now() + timedelta(hours=hours))
    assert made.fault == ""
    assert names(second) == names(place)
    assert len(names(second)) == 2
    copied = second / names(second)[-1]
    assert copied.read_bytes() == (place / copied.name).read_bytes()
    assert not list(second.glob("*.part"))


def test_a_program_takes_each_file_away_without_a_shell(place, settings, tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHTAG_SECRET_KEY", "not for strangers")
    away = tmp_path / "a way $(off)"
    away.mkdir()
    code = "import os, shutil, sys; shutil.copy(*sys.argv[1:]); print(os.environ, file=open(sys.argv[2] + '/env', 'w'))"
    settings.BACKUP_COMMAND = [sys.executable, "-c", code, "{file}", str(away)]
    assert make(place).fault == ""
    assert names(away) == names(place)
    assert "not for strangers" not in (away / "env").read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["/no/such/program", "{file}"], "No such file"),
        ([sys.executable, "-c", "import sys; sys.exit('box full')", "{file}"], "with 1: box full"),
    ],
)
def test_a_program_that_fails_is_told_and_the_backup_stays(place, settings, words, said):
    settings.BACKUP_COMMAND = words
    made = make(place)
    assert made.sound
    assert said in made.fault
    assert len(names(place)) == 1


@pytest.mark.skipif(connection.vendor != "sqlite", reason="the disk is that of the server")
def test_a_backup_never_takes_the_room_of_the_shop(place, monkeypatch):
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(nightly.shutil, "disk_usage", lambda folder: usage(1, 1, 70 * 1024 * 1024))
    monkeypatch.setattr(nightly, "_SPARE_BYTES", 80 * 1024 * 1024)
    made = make(place)
    assert not made.sound
    assert "has room for 70 MB" in made.fault
    assert names(place) == []


def test_the_command_tells_the_fault_and_ends_with_2(place, settings):
    settings.BACKUP_COPY_TO = str(place / "away")
    with pytest.raises(CommandError, match="plugged in") as caught:
        call_command("backup", "--nightly")
    assert caught.value.returncode == 2


def run_at(when, **more):
    return BackupRun.objects.create(began_at=when, ended_at=when, **more)


def person(since):
    User.objects.create(username="lou", date_joined=since)


def test_a_new_shop_is_left_alone_for_an_hour(place):
    assert not queries.is_due(NOON)
    person(NOON - timedelta(minutes=50))
    assert not queries.is_due(NOON)
    assert queries.is_due(NOON + timedelta(minutes=11))


def test_it_is_due_when_the_hour_struck_and_made_up_for_later(place):
    person(NOON - timedelta(days=9))
    run_at(NOON - timedelta(hours=9), sound=True)  # three at night
    assert not queries.is_due(NOON)
    assert not queries.is_due(datetime(2026, 11, 28, 1, 59, tzinfo=UTC))
    assert queries.is_due(datetime(2026, 11, 28, 2, 0, tzinfo=UTC))
    assert queries.is_due(datetime(2026, 11, 30, 9, 0, tzinfo=UTC))


def test_after_one_that_failed_it_is_tried_again_in_an_hour(place):
    person(NOON - timedelta(days=9))
    run_at(NOON, fault="box full")
    assert not queries.is_due(NOON + timedelta(minutes=59))
    assert queries.is_due(NOON + timedelta(minutes=61))


def test_a_copy_that_failed_is_no_reason_to_displace_older_backups(place):
    person(NOON - timedelta(days=9))
    run_at(NOON, sound=True, fault="is its disk plugged in?")
    assert not queries.is_due(NOON + timedelta(hours=5))


def test_it_can_be_left_to_others(place, settings):
    person(NOON - timedelta(days=9))
    settings.NIGHTLY_BACKUP = False
    assert not queries.is_due(NOON)
    assert queries.state(NOON).sentence == ""


def test_home_and_settings_say_it_when_it_is_old(place, people, client):
    client.force_login(people.owner)
    run_at(timezone.now() - timedelta(hours=20), sound=True)
    assert "sound backup" not in client.get("/").content.decode()
    BackupRun.objects.all().delete()
    run_at(timezone.now() - timedelta(days=3), sound=True)
    assert "The last sound backup is 3 days old." in client.get("/").content.decode()
    assert "The last sound backup is 3 days old." in client.get("/settings/").content.decode()


def test_readiness_says_how_old_it_is_and_stays_ready(place, client):
    assert client.get("/healthz/ready").json()["backup"] == {
        "at": None,
        "age_hours": None,
        "fine": True,
    }
    run_at(timezone.now() - timedelta(hours=50), sound=True)
    answer = client.get("/healthz/ready")
    assert answer.status_code == 200
    told = answer.json()["backup"]
    assert (told["age_hours"], told["fine"]) == (50.0, False)


@pytest.mark.parametrize(
    ("value", "said"),
    [("scp 'x {file}", "quotes do not match"), ("scp box:", "write {file} where")],
)
def test_a_program_that_makes_no_sense_stops_the_start(monkeypatch, value, said):
    monkeypatch.setenv("BENCHTAG_BACKUP_COMMAND", value)
    with pytest.raises(env.BadSetting, match=said):
        env.program("BACKUP_COMMAND")


def test_a_program_is_parted_into_words(monkeypatch):
    monkeypatch.setenv("BENCHTAG_BACKUP_COMMAND", "scp -q {file} 'box:my backups/'")
    assert env.program("BACKUP_COMMAND") == ["scp", "-q", "{file}", "box:my backups/"]


def test_the_worker_starts_one_process_and_no_second_while_it_runs(place, monkeypatch):
    person(NOON - timedelta(days=9))
    begun = []

    class Process:
        code = None

        def __init__(self, command, **more):
            begun.append(command)

        def poll(self):
            return self.code

    monkeypatch.setattr(nightly_backup, "_running", [])
    monkeypatch.setattr(nightly_backup.subprocess, "Popen", Process)
    assert nightly_backup.start_when_due(now=NOON) == 1
    assert nightly_backup.start_when_due(now=NOON) == 0
    Process.code = 0
    assert nightly_backup.start_when_due(now=NOON) == 1
    assert begun[0][1:5] == ["-m", "shop.site", "backup", "--nightly"]


@pytest.mark.process
@pytest.mark.skipif(connection.vendor != "sqlite", reason="one machine")
def test_the_worker_of_one_machine_makes_it(tmp_path, settings):
    environment = {
        **{k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG", "DJANGO"))},
        "BENCHTAG_DATA": str(tmp_path),
    }
    shop = [sys.executable, "-m", "shop.site"]

    def run(*words, **more):
        return subprocess.run(
            words, env=environment, cwd=settings.ROOT, check=True, capture_output=True, **more
        )

    run(*shop, "migrate")
    run(*shop, "user", "lou", "owner")
    with sqlite3.connect(tmp_path / "benchtag.sqlite3") as link:
        link.execute("UPDATE auth_user SET date_joined = '2026-01-01'")
    code = (
        "import django; django.setup()\n"
        "from shop.reminders import worker; from shop.site import nightly_backup\n"
        "worker.run_once(); raise SystemExit(nightly_backup._running[0].wait())"
    )
    environment["DJANGO_SETTINGS_MODULE"] = "shop.site.settings"
    run(sys.executable, "-c", code)
    with sqlite3.connect(tmp_path / "benchtag.sqlite3") as link:
        assert link.execute("SELECT sound, fault FROM backups_backuprun").fetchall() == [(1, "")]
    assert len(names(tmp_path / "backups")) == 1
