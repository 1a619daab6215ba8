"""Backup and restore of the whole database: consistent while in use, never over something."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection

# Backups made under the project's old name count among those to be left.
_DATED = re.compile(r"(?:benchtag|benchwarden)-\d{8}-\d{6}\.backup")


class BackupError(Exception):
    """A backup or restore that was not made; the message is a sentence."""


def backup(file: Path) -> None:
    """Write the database to a new file; BackupError when the file is there already."""
    if file.exists():
        raise BackupError(f"{file} is there already; name a new file.")
    partial = file.with_name(file.name + ".part")
    partial.unlink(missing_ok=True)
    if connection.vendor == "sqlite":
        _copy_sqlite(Path(str(settings.DATABASES["default"]["NAME"])), partial)
    else:
        _run("pg_dump", "--format=custom", "--no-owner", f"--file={partial}", _database_name())
    # The name appears only when the file is whole.
    partial.rename(file)


def backup_into(folder: Path, *, keep: int, now: datetime) -> Path:
    """Write a dated backup into a folder and leave the newest `keep` of them; returns the new file.

    Only files named by this function are ever removed, and only after the new one is whole.
    """
    if keep < 1:
        raise BackupError(f"keep is {keep}; it must be 1 or more.")
    if not folder.is_dir():
        raise BackupError(f"{folder} is no folder.")
    file = folder / f"benchtag-{now:%Y%m%d-%H%M%S}.backup"
    backup(file)
    dated = sorted(
        (f for f in folder.iterdir() if _DATED.fullmatch(f.name)),
        key=lambda f: f.name.partition("-")[2],
    )
    for old in dated[:-keep]:
        old.unlink()
    return file


def restore(file: Path) -> None:
    """Put a backup into an empty place; BackupError when there is anything to lose."""
    if not file.is_file():
        raise BackupError(f"{file} is no file.")
    if connection.vendor == "sqlite":
        _restore_sqlite(file)
    else:
        if connection.introspection.table_names():
            raise BackupError("The database has tables already; restore into an empty one.")
        connection.close()
        _run("pg_restore", "--no-owner", f"--dbname={_database_name()}", str(file))


def _copy_sqlite(source: Path, target: Path) -> None:
    if not source.exists():
        raise BackupError(f"There is no database at {source}.")
    # SQLite's own backup: the bare file would miss what is still in the write-ahead log.
    with sqlite3.connect(source) as live, sqlite3.connect(target) as copy:
        live.backup(copy)
    copy.close()
    live.close()


def _restore_sqlite(file: Path) -> None:
    with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as check:
        try:
            sound = check.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            check.execute("SELECT 1 FROM jobs_ledgerrow LIMIT 1")
        except sqlite3.DatabaseError:
            sound = False
    check.close()
    if not sound:
        raise BackupError(f"{file} is no sound backup of Benchtag.")
    target = Path(str(settings.DATABASES["default"]["NAME"]))
    if target.exists():
        raise BackupError(f"{target} is there already; restore into another data folder.")
    connection.close()
    shutil.copyfile(file, target)


def _database_name() -> str:
    return str(connection.settings_dict["NAME"])


def _run(*command: str) -> None:
    given: dict[str, Any] = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    variables = {name: str(given[key]) for name, key in names.items() if given[key]}
    try:
        done = subprocess.run(
            command, env={**os.environ, **variables}, capture_output=True, text=True, check=False
        )
    except FileNotFoundError:
        raise BackupError(f"{command[0]} is not installed; it comes with PostgreSQL.") from None
    if done.returncode:
        raise BackupError(f"{command[0]} failed: {done.stderr.strip()[:500]}")
