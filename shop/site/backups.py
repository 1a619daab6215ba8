"""Backups of the whole database: consistent while in use, never over something."""

from __future__ import annotations

import os
import re
import sqlite3
import subprocess
from contextlib import closing
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
    try:
        _write(partial)
    except BackupError:
        partial.unlink(missing_ok=True)
        raise
    # The name appears only when the file is whole.
    partial.rename(file)


def _write(partial: Path) -> None:
    if connection.vendor == "sqlite":
        _copy_sqlite(Path(str(settings.DATABASES["default"]["NAME"])), partial)
    else:
        _require_tables()
        run("pg_dump", "--format=custom", "--no-owner", f"--file={partial}", database_name())


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


def _require_tables() -> None:
    if "jobs_ledgerrow" not in connection.introspection.table_names():
        raise BackupError(f"The database {database_name()} holds no shop; nothing was backed up.")


def _copy_sqlite(source: Path, target: Path) -> None:
    if not source.exists():
        raise BackupError(f"There is no shop in {source.parent}; nothing was backed up.")
    try:
        # SQLite's own backup: the bare file would miss what is still in the write-ahead log.
        with closing(_read_only(source)) as live, closing(sqlite3.connect(target)) as copy:
            live.execute("SELECT 1 FROM jobs_ledgerrow LIMIT 1")
            live.backup(copy)
    except sqlite3.OperationalError as error:
        if "no such table" not in str(error):
            raise BackupError(f"{source} cannot be copied: {error}.") from None
        raise BackupError(f"{source} holds no shop; nothing was backed up.") from None
    except sqlite3.DatabaseError as error:
        raise BackupError(f"{source} is damaged and cannot be copied: {error}.") from None


def _read_only(file: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)


def database_name() -> str:
    """Return the name of the database on its server."""
    return str(connection.settings_dict["NAME"])


def run(*command: str) -> None:
    """Run a program of PostgreSQL against the shop's database; BackupError when it fails."""
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
        said = " ".join(done.stderr.split())[:500]
        raise BackupError(f"{command[0]} failed: {said}")
