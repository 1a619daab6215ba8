"""An empty, migrated shop as a file of SQLite: migrating takes half a minute, a copy nothing.

The file is made by `manage.py migrate`, anew whenever the source or a pinned version changes, and
kept beside pytest's own cache.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import django
from django.core.management import call_command
from django.db.backends.base.base import BaseDatabaseWrapper

ROOT = Path(__file__).resolve().parents[1]
KEPT = ROOT / ".pytest_cache" / "migrated"
NAME = "benchtag.sqlite3"


def put_at(place: Path) -> None:
    """Put an empty shop at this place, in the name of `manage.py migrate`."""
    place.parent.mkdir(parents=True, exist_ok=True)
    with _kept() as file:
        shutil.copyfile(file, place)


def migrate(connection: BaseDatabaseWrapper) -> None:
    """Make the tables in an empty database: on SQLite, also in memory, by a copy."""
    if connection.vendor != "sqlite":
        call_command("migrate", verbosity=0)
        return
    connection.ensure_connection()
    with _kept() as file, closing(sqlite3.connect(file)) as kept:
        kept.backup(connection.connection)


@contextmanager
def _kept() -> Iterator[Path]:
    """The file, which no other run takes away meanwhile."""
    KEPT.mkdir(parents=True, exist_ok=True)
    file = KEPT / f"{_state_of_the_source()}.sqlite3"
    with (KEPT / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.exists():
            for former in KEPT.glob("*.sqlite3"):
                former.unlink()
            _migrate(file)
        yield file


def _state_of_the_source() -> str:
    """Return a digest of all that could change what a migration makes."""
    sources = [file for room in ("shop", "checklists") for file in (ROOT / room).rglob("*.py")]
    state = hashlib.sha256(f"{sys.version} {django.__version__}".encode())
    for file in (ROOT / "requirements.txt", *sorted(sources)):
        state.update(file.read_bytes())
    return state.hexdigest()[:20]


def _migrate(file: Path) -> None:
    plain = {k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG_", "DJANGO_"))}
    with tempfile.TemporaryDirectory(dir=KEPT) as folder:
        subprocess.run(
            [sys.executable, "manage.py", "migrate", "--verbosity", "0"],
            cwd=ROOT,
            env={**plain, "BENCHTAG_DATA": folder},
            capture_output=True,
            check=True,
        )
        Path(folder, NAME).rename(file)
