"""Every command takes the folder it acts on, says it, and makes no shop where none was asked for."""

from __future__ import annotations

import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.checks import run_checks
from django.core.management import get_commands
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from shop.site import command_line, env, places, start

# One that a library brings needs what is not installed here.
COMMANDS = sorted(get_commands().keys() - {"graph_transitions"})
OURS = sorted(name for name, app in get_commands().items() if app == "shop.site")


@pytest.fixture(autouse=True)
def _clean(monkeypatch):
    for name in [name for name in os.environ if name.startswith(("BENCHTAG", "BENCHWARDEN"))]:
        monkeypatch.delenv(name)


@pytest.fixture
def executed(monkeypatch):
    """What would be executed, instead of executing it."""
    seen = []
    monkeypatch.setattr(command_line.CommandLine, "execute", lambda self: seen.append(self.argv))
    return seen


def shop(folder):
    folder.mkdir(exist_ok=True)
    with sqlite3.connect(folder / "benchtag.sqlite3") as link:
        link.execute("CREATE TABLE jobs_ledgerrow (id)")
    link.close()
    return folder


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_offers_it(name):
    command = command_line.CommandLine(["manage.py", name]).fetch_command(name)
    assert "--data DIR" in command.create_parser("manage.py", name).format_help()


@pytest.mark.parametrize("name", OURS)
@pytest.mark.parametrize("words", [("--data", "{}"), ("--data={}",)])
def test_every_command_takes_it_and_says_where_it_acts(name, words, executed, tmp_path, capsys):
    folder = shop(tmp_path / "bench")
    given = [word.format(folder) for word in words]
    command_line.run(["manage.py", name, "verify", *given, "--json"])
    assert executed == [["manage.py", name, "verify", "--json"]]
    assert env.data_folder() == folder
    assert capsys.readouterr().err == f"Data folder: {folder}\n"


@pytest.mark.parametrize("name", command_line.NEED_A_SHOP)
@pytest.mark.parametrize("there", ["nothing", "a folder", "an empty file", "another database"])
def test_what_is_no_shop_is_refused_and_none_is_made(name, there, executed, tmp_path, capsys):
    folder = tmp_path / "elsewhere"
    if there != "nothing":
        folder.mkdir()
    if there == "an empty file":
        (folder / "benchtag.sqlite3").touch()
    if there == "another database":
        link = sqlite3.connect(folder / "benchtag.sqlite3")
        link.execute("CREATE TABLE mine (id)")
        link.close()
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(SystemExit) as caught:
        command_line.run(["manage.py", name, "x", "--data", str(folder)])
    assert caught.value.code == 2
    assert f"There is no shop in {folder}" in capsys.readouterr().err
    assert executed == []
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("name", ["migrate", "quickstart", "restore", "check"])
def test_what_makes_a_shop_may_begin_with_none(name, executed, tmp_path):
    command_line.run(["manage.py", name, "--data", str(tmp_path / "new")])
    assert executed == [["manage.py", name]]


def test_a_shop_on_a_server_is_not_looked_for_in_the_folder(
    executed, tmp_path, monkeypatch, capsys
):
    monkeypatch.setenv("BENCHTAG_DATABASE_URL", "postgres://u:secret@h/shop")
    command_line.run(["manage.py", "backup", "x", "--data", str(tmp_path)])
    said = capsys.readouterr().err
    assert executed
    assert "the database is that of DATABASE_URL" in said
    assert "secret" not in said


@pytest.mark.parametrize("words", [["--data"], ["--data", "--keep"], ["--data="]])
def test_a_folder_without_a_name_is_a_sentence(words, executed, capsys):
    with pytest.raises(SystemExit):
        command_line.run(["manage.py", "backup", *words])
    assert capsys.readouterr().err == "--data names no folder; write --data DIR.\n"


@pytest.mark.parametrize("words", [["help"], ["backup", "--help"], []])
def test_who_asks_for_help_is_told_no_folder(words, executed, capsys):
    command_line.run(["manage.py", *words])
    assert capsys.readouterr().err == ""
    assert len(executed) == 1


def test_a_home_folder_is_found(executed, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    shop(tmp_path / "bench")
    command_line.run(["manage.py", "backup", "x", "--data=~/bench"])
    assert env.data_folder() == tmp_path / "bench"


def test_a_variable_that_nothing_reads_is_named(monkeypatch):
    monkeypatch.setenv("BENCHTAG_ADRESS", "http://bench")
    monkeypatch.setenv("BENCHTAG_QQQQQQQ", "x")
    monkeypatch.setenv("BENCHTAG_SECRET_KEY_FILE", "")
    said = {m.msg: m.hint for m in run_checks(app_configs=[]) if m.id == "shop.W002"}
    assert said == {
        "BENCHTAG_ADRESS is set and nothing reads it.": "Is BENCHTAG_ADDRESS meant?",
        "BENCHTAG_QQQQQQQ is set and nothing reads it.": "docs/running.md lists them.",
    }


@pytest.mark.process
def test_a_backup_is_of_the_shop_that_was_named(tmp_path):
    """What was found by running: without the variable, a backup copied another shop, or made one."""
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG", "DJANGO"))}

    def run(*words):
        manage = [sys.executable, str(settings.ROOT / "manage.py"), *words]
        return subprocess.run(
            manage, cwd=tmp_path, env=clean, capture_output=True, text=True, check=False
        )

    assert run("migrate", "--data", "bench").returncode == 0
    answer = run("backup", "shop.backup", "--data", "bench")
    assert answer.returncode == 0, answer.stderr
    assert f"Data folder: {tmp_path / 'bench'}" in answer.stderr
    refused = run("backup", "other.backup")
    assert refused.returncode == 2
    assert f"There is no shop in {tmp_path / 'data'}" in refused.stderr
    made = sorted(f.name for f in tmp_path.iterdir())
    assert made == ["bench", "shop.backup", "shop.backup.heads", "shop.backup.heads.sig"]


@pytest.mark.parametrize(
    ("typed", "run"),
    [
        ([], ["quickstart"]),
        (["--port", "8001"], ["quickstart", "--port", "8001"]),
        (["calc"], ["calc"]),
        (["--help"], ["--help"]),
    ],
)
def test_the_program_alone_starts_the_demo(typed, run, executed, tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "argv", ["benchtag", *typed, "--data", str(tmp_path)])
    command_line.benchtag()
    assert executed == [["benchtag", *run]]


@pytest.mark.parametrize("word", ["version", "--version"])
def test_the_version_is_that_of_the_project_with_what_it_runs_on(word, executed, capsys):
    command_line.run(["manage.py", word])
    said = capsys.readouterr().out
    assert re.fullmatch(r"Benchtag \d+\.\d+\.\d+, Django \d+\.\S+, Python 3\.\d+\.\d+\n", said)
    assert executed == []


def test_a_copy_keeps_its_shop_where_the_standard_says(monkeypatch, tmp_path):
    """XDG Base Directory Specification 0.8: a relative path is invalid and ignored."""
    monkeypatch.setenv("HOME", str(tmp_path))
    usual = tmp_path / ".local" / "share" / "benchtag"
    assert places.of_this_person("linux", {}) == usual
    assert places.of_this_person("linux", {"XDG_DATA_HOME": "here"}) == usual
    assert places.of_this_person("linux", {"XDG_DATA_HOME": "/srv"}) == Path("/srv/benchtag")
    library = tmp_path / "Library" / "Application Support" / "benchtag"
    assert places.of_this_person("darwin", {"XDG_DATA_HOME": "/srv"}) == library


def test_without_a_home_the_folder_is_asked_for(monkeypatch):
    def nowhere():
        raise RuntimeError

    monkeypatch.setattr(places, "default_data_folder", nowhere)
    with pytest.raises(env.BadSetting, match="name the data folder with --data DIR"):
        env.data_folder()


def test_a_setting_whose_extra_is_missing_says_what_to_install():
    env.require_extra("REDIS_URL", "json")
    with pytest.raises(env.BadSetting) as caught:
        env.require_extra("REDIS_URL", "json", "nowhere_to_be_found")
    assert str(caught.value) == (
        "BENCHTAG_REDIS_URL is set, and nowhere_to_be_found is not installed;"
        " install benchtag[services]."
    )


@pytest.mark.django_db
def test_a_shop_that_a_newer_release_migrated_is_not_served():
    assert start.faults() == []
    MigrationRecorder(connection).record_applied("jobs", "9999_of_tomorrow")
    [fault] = start.faults()
    assert "A newer release has migrated this database (jobs.9999_of_tomorrow)" in fault


def test_what_others_bring_may_be_newer(db):
    MigrationRecorder(connection).record_applied("auth", "9999_of_tomorrow")
    assert start.faults() == []
