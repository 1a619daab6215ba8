from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core import checks
from django.core.management import call_command

from checklists import published
from shop.site import command_line, env

ROOT = Path(django_settings.ROOT)
CODE = [f for folder in ("shop", "checklists") for f in (ROOT / folder).rglob("*.py")]


def test_only_commands_and_events_make_a_transition_or_save_a_job():
    doors = re.compile(
        r"\.(apply_limited|apply_full|isolate|take_cover_off|put_cover_on|start_reproducing"
        r"|put_on_bench|await_parts|reassemble|start_soaking|move_to)\("
        r"|\.(stage|power|cover) = |update\((stage|power|cover)=|job\.save\("
    )
    found = [
        f"{file.relative_to(ROOT)}: {line.strip()}"
        for file in CODE
        if not any(file.match(f"{folder}/*.py") for folder in ("commands", "events", "migrations"))
        for line in file.read_text(encoding="utf-8").splitlines()
        if doors.search(line) and "NEW." not in line and "OLD." not in line  # SQL of a trigger
    ]
    assert found == []


def test_only_migrations_import_migrations():
    named = re.compile(
        r"(from|import) (?!django\.)\S*migrations\.|import_module\(.*migrations|\"\S+\.migrations\."
    )
    found = [
        f"{file.relative_to(ROOT)}: {line.strip()}"
        for file in [*CODE, *(ROOT / "tests").rglob("*.py")]
        if not file.match("migrations/*.py") and file != Path(__file__)
        for line in file.read_text(encoding="utf-8").splitlines()
        if named.search(line)
    ]
    assert found == []


def test_no_file_is_longer_than_400_lines():
    long = {
        str(f.relative_to(ROOT)): n
        for f in CODE
        if (n := len(f.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert long == {}


@pytest.mark.django_db
def test_models_and_migrations_agree():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def test_pinned_requirements_have_hashes_and_name_no_host():
    for name in ("requirements.txt", "requirements-dev.txt"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert "://" not in text
        assert "--index" not in text
        pins = re.findall(r"^[\w.\[\]-]+==", text, re.M)
        assert len(pins) > 20
        assert len(re.findall(r"^[\w.\[\]-]+==[^\n]*\\\n    --hash=", text, re.M)) == len(pins)


def test_every_app_document_that_the_readme_links_is_there():
    for page in [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")]:
        for link in re.findall(r"\]\((?!https?:|#)([^)#]+)", page.read_text(encoding="utf-8")):
            assert (page.parent / link).exists(), f"{page.name} links {link}"


def test_a_broken_house_pack_stops_every_command(settings, tmp_path):
    (tmp_path / "house.toml").write_text("[[rule]]\nid = 'x'\nwhen = 'unit.colour'\n")
    settings.HOUSE_PACK_FOLDER = tmp_path
    errors = checks.run_checks(tags=["checklists"])
    assert {error.id for error in errors} == {"checklists.E001"}
    assert "house.toml, line 2: rule x: because is missing." in [error.msg for error in errors]


def test_the_shipped_pack_passes_its_check():
    assert checks.run_checks(tags=["checklists"]) == []
    assert published.pack().digest


def test_deploy_checks_refuse_what_is_weak(settings):
    settings.HTTPS, settings.REDIS_URL, settings.DEBUG = False, "", True
    found = {e.id for e in checks.run_checks(tags=["security"], include_deployment_checks=True)}
    assert {"shop.E001", "shop.E002", "shop.E004"} <= found


def test_deploy_checks_are_clean_in_services_mode(tmp_path):
    """A process of its own: settings are read once."""
    secret = tmp_path / "secret-key"
    secret.write_text("k" * 30 + "0123456789abcdefghijklmnopqrstuvwxyz")
    given = {
        "PATH": "/usr/bin:/bin",
        "BENCHTAG_DATA": str(tmp_path),
        "BENCHTAG_HTTPS": "yes",
        "BENCHTAG_HOSTS": "bench.example.org",
        "BENCHTAG_ORIGINS": "https://bench.example.org",
        "BENCHTAG_SECRET_KEY_FILE": str(secret),
        "BENCHTAG_DATABASE_URL": "postgres://bench@127.0.0.1:5432/bench",
        "BENCHTAG_REDIS_URL": "redis://127.0.0.1:6379/0",
    }
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    done = subprocess.run(command, cwd=ROOT, env=given, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout + done.stderr


@pytest.mark.parametrize(
    ("read", "value", "said"),
    [
        (lambda: env.flag("X"), "perhaps", "write yes or no"),
        (lambda: env.number("X", 1, low=1, high=9), "10", "a whole number from 1 to 9"),
        (lambda: env.number("X", 1), "-3", "a whole number"),
        (lambda: env.number("X", 1), "9" * 5000, "a whole number"),
        (lambda: env.choice("X", ("a", "b")), "c", "write one of a, b"),
        (lambda: env.database(env.text("X"), Path()), "mysql://h/d", "use postgres://"),
    ],
)
def test_a_setting_that_makes_no_sense_stops_the_start(monkeypatch, read, value, said):
    monkeypatch.setenv("BENCHTAG_X", value)
    with pytest.raises(env.BadSetting, match=said):
        read()


@pytest.mark.parametrize("value", ["-1", "much", "NaN", "1000001"])
def test_an_amount_that_makes_no_sense_stops_the_start(monkeypatch, value):
    monkeypatch.setenv("BENCHTAG_HOURLY_RATE", value)
    with pytest.raises(env.BadSetting, match="HOURLY_RATE"):
        env.of_the_shop(env.shop_texts())


def test_a_currency_is_a_code_of_iso_4217(monkeypatch):
    monkeypatch.setenv("BENCHTAG_CURRENCY", "JPY")
    assert env.of_the_shop(env.shop_texts())["CURRENCY"] == "JPY"
    monkeypatch.setenv("BENCHTAG_CURRENCY", "EURO")
    with pytest.raises(env.BadSetting, match="ISO 4217"):
        env.of_the_shop(env.shop_texts())


def test_settings_are_read_with_their_types(monkeypatch, tmp_path):
    file = tmp_path / "secret"
    file.write_text("s3cret\n")
    monkeypatch.setenv("BENCHTAG_A", "yes")
    monkeypatch.setenv("BENCHTAG_B", "7")
    monkeypatch.setenv("BENCHTAG_C", " a, b ,")
    monkeypatch.setenv("BENCHTAG_D_FILE", str(file))
    assert (env.flag("A"), env.number("B", 1), env.words("C")) == (True, 7, ["a", "b"])
    assert env.secret("D") == "s3cret"
    monkeypatch.setenv("BENCHTAG_D_FILE", str(tmp_path / "none"))
    with pytest.raises(env.BadSetting, match="cannot be read"):
        env.secret("D")


def test_a_database_address_is_taken_apart(tmp_path):
    found = env.database("postgres://u%40x:p%2Fw@h:5433/shop", tmp_path)
    wanted = {"NAME": "shop", "USER": "u@x", "PASSWORD": "p/w", "HOST": "h", "PORT": "5433"}
    assert wanted.items() <= found.items()
    assert "lock_timeout=20s" in found["OPTIONS"]["options"], "nobody waits for a lock for ever"


def test_the_secret_key_is_made_once_and_kept_private(tmp_path, monkeypatch):
    monkeypatch.delenv("BENCHTAG_SECRET_KEY", raising=False)
    key = env.secret_key(tmp_path / "new")
    assert env.secret_key(tmp_path / "new") == key
    assert (tmp_path / "new" / "secret-key").stat().st_mode & 0o077 == 0


def test_the_data_folder_of_the_command_line_wins(monkeypatch):
    monkeypatch.setenv("BENCHTAG_DATA", "one")
    assert command_line.take_data_folder(["manage.py", "migrate", "--", "--data", "two"])
    assert env.text("DATA") == "one"
    command_line.take_data_folder(["manage.py", "quickstart", "--data", "two"])
    assert env.text("DATA") == "two"
    command_line.take_data_folder(["manage.py", "quickstart", "--data=three"])
    assert env.text("DATA") == "three"


def test_health_answers(client, db, monkeypatch):
    assert client.get("/healthz/live").json() == {"live": True}
    assert client.get("/healthz/ready").json()["ready"] is True

    from django.db import DatabaseError  # noqa: PLC0415

    def gone():
        raise DatabaseError

    with monkeypatch.context() as broken:
        broken.setattr("shop.site.health.connection.cursor", gone)
        answer = client.get("/healthz/ready")
    assert (answer.status_code, answer.json()["ready"]) == (503, False)
    assert client.get("/healthz/live").status_code == 200


def test_nothing_that_belongs_to_a_shop_is_in_the_repository():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    files = listed.stdout.split()
    assert not [f for f in files if f.endswith((".sqlite3", ".env", "secret-key"))]
