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
from django.db import DatabaseError, connection

from shop.backups import sealing
from shop.backups.errors import BackupError as BackupError
from shop.jobs import head_lists, shop_keys

# Backups made under the project's old name count among those to be left.
_DATED = re.compile(r"(?:benchtag|benchwarden)-\d{8}-\d{6}\.backup(?:\.age)?")
_UNSOUND = ".unsound"


def backup(file: Path, *, now: datetime, passphrase: str = "") -> bool:
    """Write the database to a new file, and the signed heads of its ledgers beside it.

    Returns whether they could be signed. With a passphrase the file is encrypted by it. BackupError
    when the file is there already.
    """
    for each in (file, *heads_of(file)):
        if each.exists():
            raise BackupError(f"{each} is there already; name a new file.")
    partial = file.with_name(file.name + ".part")
    partial.unlink(missing_ok=True)
    try:
        _require_shop()
        signed = write_heads(file, now=now)
        if passphrase:
            with sealing.sealed(partial, passphrase) as plain:
                _write(plain)
        else:
            _write(partial)
    except (BackupError, OSError) as error:
        for each in (partial, *heads_of(file)):
            each.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise BackupError(f"{file} cannot be written: {error.strerror}.") from None
        raise
    # The name appears only when the file is whole.
    partial.rename(file)
    return signed


def heads_of(file: Path) -> tuple[Path, Path]:
    """Return the files beside a backup: the heads of all ledgers, and their signature."""
    return file.with_name(f"{file.name}.heads"), file.with_name(f"{file.name}.heads.sig")


def write_heads(file: Path, *, now: datetime) -> bool:
    """Write the signed heads beside a backup; False when the key of the shop cannot sign.

    They are read before the backup is made: what it holds goes at least as far.
    """
    try:
        signing = shop_keys.for_signing(now)
        if signing is None:
            return False
        text, signature = head_lists.write(head_lists.heads(), signing, now.isoformat())
    except DatabaseError:
        return False  # of an older release, not migrated yet
    for target, content in zip(heads_of(file), (text, signature), strict=True):
        target.write_bytes(content)
    return True


def _write(partial: Path) -> None:
    if connection.vendor == "sqlite":
        _copy_sqlite(_own_file(), partial)
    else:
        run("pg_dump", "--format=custom", "--no-owner", f"--file={partial}", database_name())


def backup_into(folder: Path, *, now: datetime, passphrase: str = "") -> tuple[Path, bool]:
    """Write a dated backup into a folder; returns the file, and whether its heads were signed."""
    if not folder.is_dir():
        raise BackupError(f"{folder} is no folder.")
    ending = ".age" if passphrase else ""
    file = folder / f"benchtag-{now:%Y%m%d-%H%M%S}.backup{ending}"
    return file, backup(file, now=now, passphrase=passphrase)


def leave_newest(folder: Path, keep: int) -> None:
    """Remove dated backups but the newest `keep`; no other file is ever removed."""
    _leave_newest(folder, keep, _DATED)


def set_aside(file: Path, *, keep: int) -> Path:
    """Give a backup that does not hold a name that says so, by which it displaces no sound one."""
    aside = file.with_name(file.name + _UNSOUND)
    for old, new in zip(heads_of(file), heads_of(aside), strict=True):
        if old.exists():
            old.rename(new)
    file.rename(aside)
    _leave_newest(file.parent, keep, re.compile(_DATED.pattern + re.escape(_UNSOUND)))
    return aside


def with_heads(file: Path) -> list[Path]:
    """Return a backup and those of the files beside it that are there."""
    return [file, *(each for each in heads_of(file) if each.exists())]


def clear_left_overs(folder: Path) -> None:
    """Remove what a backup into a folder left that was killed on the way."""
    for part in folder.glob("*.part"):
        if _DATED.fullmatch(part.stem):
            part.unlink(missing_ok=True)
    for plain in Path(settings.DATA).glob("*.plain"):
        if _DATED.match(plain.name):
            plain.unlink(missing_ok=True)


def _leave_newest(folder: Path, keep: int, named: re.Pattern[str]) -> None:
    dated = sorted(
        (f for f in folder.iterdir() if named.fullmatch(f.name)),
        key=lambda f: f.name.partition("-")[2],
    )
    for old in dated[:-keep]:
        for each in with_heads(old):
            each.unlink(missing_ok=True)


def _own_file() -> Path:
    return Path(str(connection.settings_dict["NAME"]))


def _require_shop() -> None:
    """Raise BackupError where there is no shop; a look would make an empty file of SQLite."""
    where = database_name()
    if connection.vendor == "sqlite" and not _own_file().exists():
        raise BackupError(f"There is no shop in {_own_file().parent}; nothing was backed up.")
    try:
        tables = connection.introspection.table_names()
    except DatabaseError as error:
        raise BackupError(f"{where} cannot be read: {error}.") from None
    if "jobs_ledgerrow" not in tables:
        raise BackupError(f"{where} holds no shop; nothing was backed up.")


def _copy_sqlite(source: Path, target: Path) -> None:
    try:
        # SQLite's own backup: the bare file would miss what is still in the write-ahead log.
        with closing(_read_only(source)) as live, closing(sqlite3.connect(target)) as copy:
            live.backup(copy)
    except sqlite3.DatabaseError as error:
        raise BackupError(f"{source} cannot be copied: {error}.") from None


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
