"""Backups that are encrypted on request: opened by the passphrase, and by nothing else."""

from __future__ import annotations

import io
import random
import shutil
import sys
import zipfile

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from shop.backups import passphrases, sealing, writing
from shop.lib import age
from tests.helpers import amplifier

SECRET = "a kettle, two lamps"
pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor == "postgresql" and not shutil.which("pg_dump"), reason="no pg_dump"
    ),
]


@pytest.fixture(autouse=True)
def folder(settings, tmp_path, monkeypatch):
    monkeypatch.setattr(age, "WORK_FACTOR", 4)
    settings.DATA = tmp_path / "data"
    settings.DATA.mkdir()
    return tmp_path


@pytest.fixture
def words(folder):
    file = folder / "words"
    file.write_text(f"{SECRET}\n")
    return str(file)


def make(folder, words, *more):
    file = folder / "shop.backup.age"
    call_command("backup", str(file), "--encrypt", "--passphrase-file", words, *more)
    return file


def opened(file, passphrase=SECRET):
    with sealing.in_the_clear(file, lambda: passphrase) as plain:
        return plain.read_bytes()


def test_it_holds_the_same_backup_and_nothing_lies_in_the_clear(bench, folder, words):
    bench.receive(make="Corvenby", facts=amplifier())
    file = make(folder, words)
    raw = file.read_bytes()
    assert age.is_age(raw)
    assert b"Corvenby" not in raw
    assert file.stat().st_mode & 0o777 == 0o600
    assert b"Corvenby" in opened(file) or connection.vendor == "postgresql"
    lying = {f.name for f in folder.rglob("*") if f.is_file()}
    heads = {f.name for f in writing.heads_of(file)}
    assert lying == {"words", "ledger-key", file.name} | heads


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a file of SQLite")
def test_it_is_restored(bench, folder, words, monkeypatch, settings):
    bench.limited(bench.receive(facts=amplifier()))
    file = make(folder, words)
    there = folder / "there.sqlite3"
    monkeypatch.setitem(settings.DATABASES["default"], "NAME", str(there))
    out = io.StringIO()
    call_command("restore", str(file), "--passphrase-file", words, stdout=out)
    assert "Done: 1 jobs" in out.getvalue()
    assert there.exists()
    assert not list(settings.DATA.glob("*.plain"))


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a file of SQLite")
@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw[:-1], "cut or altered"),
        (lambda raw: raw[: len(raw) // 2], "cut"),
        (lambda raw: raw[:60], "damaged|cut|altered|not by a passphrase"),
        (lambda raw: raw[:-9] + b"x" + raw[-8:], "cut or altered"),
        (lambda raw: raw + b"x", "cut or altered"),
    ],
)
def test_what_was_cut_or_altered_is_a_sentence_and_leaves_the_place_empty(
    bench, folder, words, monkeypatch, settings, change, said
):
    bench.receive()
    file = make(folder, words)
    file.write_bytes(change(file.read_bytes()))
    there = folder / "there.sqlite3"
    monkeypatch.setitem(settings.DATABASES["default"], "NAME", str(there))
    with pytest.raises(CommandError, match=said) as caught:
        call_command("restore", str(file), "--passphrase-file", words)
    assert caught.value.returncode == 2
    assert not there.exists()
    assert not list(settings.DATA.glob("*.plain"))


def test_the_wrong_passphrase_is_a_sentence(bench, folder, words):
    file = make(folder, words)
    with pytest.raises(writing.BackupError, match=r"cannot be opened\. The passphrase is not"):
        opened(file, "another passphrase")


def test_hundreds_of_altered_ones_are_a_sentence(bench, folder, words):
    file = make(folder, words)
    raw, chance = file.read_bytes(), random.Random(20)
    for _ in range(150):
        changed = bytearray(raw)
        changed[chance.randrange(22, len(raw))] ^= 1 << chance.randrange(8)
        file.write_bytes(bytes(changed))
        with pytest.raises(writing.BackupError) as caught:
            opened(file)
        assert str(caught.value).endswith(".")


def test_dated_ones_are_kept_by_number_with_their_heads(bench, folder):
    into = folder / "into"
    into.mkdir()
    for day in range(1, 4):
        now = timezone.now().replace(year=2026, month=11, day=day)
        writing.backup_into(into, now=now, passphrase=SECRET)
        writing.leave_newest(into, 2)
    names = sorted(f.name.split("-")[1] + f.name.partition(".backup")[2] for f in into.iterdir())
    assert names == [
        "20261102.age", "20261102.age.heads", "20261102.age.heads.sig",
        "20261103.age", "20261103.age.heads", "20261103.age.heads.sig",
    ]  # fmt: skip


class TestPassphrase:
    def test_it_comes_from_a_file_or_the_environment(self, words, settings):
        assert passphrases.new(words) == SECRET
        settings.BACKUP_PASSPHRASE = "of the environment"
        assert passphrases.new(None) == "of the environment"
        assert passphrases.known(None) == "of the environment"

    def test_it_is_typed_twice(self, monkeypatch, settings):
        settings.BACKUP_PASSPHRASE = ""
        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
        answers = iter([SECRET, SECRET, SECRET, "something else"])
        monkeypatch.setattr(passphrases.getpass, "getpass", lambda prompt: next(answers))
        assert passphrases.new(None) == SECRET
        with pytest.raises(writing.BackupError, match="differ"):
            passphrases.new(None)

    def test_without_anybody_to_ask_it_is_a_sentence(self, monkeypatch, settings):
        settings.BACKUP_PASSPHRASE = ""
        monkeypatch.setattr(sys, "stdin", io.StringIO())
        with pytest.raises(writing.BackupError, match="There is nobody to ask"):
            passphrases.new(None)

    @pytest.mark.parametrize(
        ("content", "said"), [(b"", "is empty"), (b"short", "has 5 letters"), (b"\xff", "be read")]
    )
    def test_what_is_no_passphrase_is_a_sentence(self, folder, content, said):
        (folder / "words").write_bytes(content)
        with pytest.raises(writing.BackupError, match=said):
            passphrases.new(str(folder / "words"))
        with pytest.raises(writing.BackupError, match="cannot be read"):
            passphrases.new(str(folder / "none"))


class TestExport:
    def test_it_leaves_encrypted_and_is_read_by_its_passphrase(
        self, bench, folder, words, settings
    ):
        bench.receive(make="Corvenby", facts=amplifier())
        file = folder / "shop.zip.age"
        call_command("export", str(file), "--passphrase-file", words)
        assert age.is_age(file.read_bytes())
        assert b"Corvenby" not in file.read_bytes()
        with sealing.in_the_clear(file, lambda: SECRET) as plain, zipfile.ZipFile(plain) as bundle:
            assert "Corvenby" in "".join(
                bundle.read(name).decode("utf-8", "replace") for name in bundle.namelist()
            )
        with pytest.raises(CommandError, match="goes into an empty shop"):
            call_command("import", str(file), "--passphrase-file", words)
        assert not list(settings.DATA.glob("*.plain"))

    def test_another_passphrase_opens_nothing(self, folder, words):
        file, other = folder / "shop.zip.age", folder / "other"
        call_command("export", str(file), "--passphrase-file", words)
        other.write_text("a lamp, two kettles")
        with pytest.raises(CommandError, match="not the one") as caught:
            call_command("import", str(file), "--passphrase-file", str(other))
        assert caught.value.returncode == 2

    def test_nothing_is_written_over(self, folder, words):
        file = folder / "mine"
        file.write_text("mine")
        with pytest.raises(CommandError, match="is there already"):
            call_command("export", str(file), "--passphrase-file", words)
        assert file.read_text() == "mine"
