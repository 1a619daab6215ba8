"""Every command takes the folder it acts on, says it, and makes no shop where none was asked for."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.checks import run_checks
from django.core.management import get_commands

from shop.site import command_line, env

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


@pytest.mark.parametrize("words", [["help"], ["backup", "--help"], ["--version"], []])
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
    said = {m.msg: m.hint for m in run_checks() if m.id == "shop.W002"}
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
