"""Restoring a backup: looked at beside the place where it goes, and moved there only when it holds."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice
from pathlib import Path

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections

from shop.backups import sealing
from shop.backups.errors import BackupError
from shop.backups.writing import database_name, heads_of, run
from shop.jobs import database_guards, head_lists, head_signatures, proofs
from shop.jobs.models import Job, LedgerRow, ShopKey
from shop.lib.ed25519 import PublicKey

# Text and signature.
SignedHeads = tuple[bytes, bytes]
_SCRATCH = "scratch"
_SQLITE_BEGINS = b"SQLite format 3\x00"
_MOST_FAULTS, _LONGEST_FAULT = 20, 300
# There while a restore on PostgreSQL is not finished: what it brought has not been looked at.
UNFINISHED = "benchtag_restoring"


@dataclass
class Restored:
    """What a restore brought back, and the triggers that it had to put in place."""

    jobs: int
    rows: int
    missed: list[str] = field(default_factory=list)
    # Whether it is of a release that signs heads.
    signs: bool = False


class Damaged(BackupError):
    """A backup that does not hold: a sentence for each fault, and where it is kept aside."""

    def __init__(self, faults: list[str], aside: str) -> None:
        self.faults = faults
        kept = f" It is kept as {aside}." if aside else ""
        super().__init__(f"The backup does not hold ({len(faults)} faults).{kept}")


def restore(file: Path, *, now: datetime, passphrase: Callable[[], str] = lambda: "") -> Restored:
    """Put a backup into an empty place, whole and proved, or not at all.

    `passphrase` is asked only when the file is encrypted.

    BackupError when there is anything to lose, or the file is no backup. Damaged when its record
    does not hold; it is then kept aside under a name that says so, and the place stays empty.
    """
    if not file.is_file():
        raise BackupError(f"{file} is no file.")
    # What it has open is not what will be there.
    connection.close()
    try:
        with sealing.in_the_clear(file, passphrase) as plain:
            if connection.vendor == "sqlite":
                target = Path(str(settings.DATABASES["default"]["NAME"]))
                return restore_sqlite(plain, target, now=now, heads=heads_beside(file))
            return _restore_postgresql(plain, now, heads_beside(file))
    except OSError as error:
        raise BackupError(f"{error.filename or file}: {error.strerror}.") from None


def prove(file: Path, *, now: datetime, passphrase: Callable[[], str] = lambda: "") -> Restored:
    """Restore a backup into a scratch place that is gone afterwards; the shop's own is not touched.

    BackupError or Damaged as `restore` has them.
    """
    try:
        with sealing.in_the_clear(file, passphrase) as plain:
            prove_in = _prove_sqlite if connection.vendor == "sqlite" else _prove_postgresql
            return prove_in(plain, now, heads_beside(file))
    except OSError as error:
        raise BackupError(f"{error.filename or file}: {error.strerror}.") from None


def _prove_sqlite(file: Path, now: datetime, heads: SignedHeads | None) -> Restored:
    place = Path(settings.DATA) / "trial-restore"
    shutil.rmtree(place, ignore_errors=True)  # of one that was killed
    place.mkdir(mode=0o700)
    try:
        return restore_sqlite(file, place / "shop.sqlite3", now=now, heads=heads)
    finally:
        shutil.rmtree(place, ignore_errors=True)


def restore_sqlite(
    file: Path, target: Path, *, now: datetime, heads: SignedHeads | None = None
) -> Restored:
    """Restore a backup of SQLite as a new file `target`."""
    if target.exists():
        raise BackupError(f"{target} is there already; restore into another data folder.")
    scratch = target.with_name(f"{target.name}.restoring")
    _remove(scratch)
    try:
        _require_shop(file)
        _copy(file, scratch)
        restored = _proved(scratch, heads)
    except Damaged as damaged:
        aside = target.with_name(f"{target.name}.damaged-{now:%Y%m%d-%H%M%S}")
        scratch.rename(aside)
        raise Damaged(damaged.faults, str(aside)) from None
    except BackupError:
        raise
    except OSError:
        raise
    except Exception as error:
        # Whatever a foreign file makes the reading of it fail with, the file is what is wrong.
        raise BackupError(f"{file} is no sound backup of Benchtag: {_told(error)}.") from None
    else:
        scratch.rename(target)
        _keep_names(target.parent)
        return restored
    finally:
        _remove(scratch)


def _require_shop(file: Path) -> None:
    """Raise BackupError for what is no SQLite database, is broken, or holds no shop."""
    with file.open("rb") as opened:
        if opened.read(len(_SQLITE_BEGINS)) != _SQLITE_BEGINS:
            raise BackupError(f"{file} is no sound backup of Benchtag: it is no database.")


def _copy(file: Path, scratch: Path) -> None:
    shutil.copyfile(file, scratch)
    scratch.chmod(0o600)
    with scratch.open("rb+") as written:
        os.fsync(written.fileno())


def _proved(scratch: Path, heads: SignedHeads | None) -> Restored:
    """Look at everything in the copy, and put the triggers in place; Damaged tells what is wrong."""
    with closing(sqlite3.connect(scratch)) as link:
        link.execute("PRAGMA cell_size_check = ON")
        answers = [row[0] for row in link.execute("PRAGMA integrity_check(5)")]
        if answers != ["ok"]:
            raise Damaged([f"The database is broken: {_told(answer)}." for answer in answers], "")
        link.execute("SELECT 1 FROM jobs_ledgerrow LIMIT 1")
        views = [
            name for (name,) in link.execute("SELECT name FROM sqlite_master WHERE type = 'view'")
        ]
        orphans = link.execute("PRAGMA foreign_key_check").fetchmany(_MOST_FAULTS)
    if views:
        raise Damaged([f"It has a view of its own, {name[:60]}." for name in views], "")
    if orphans:
        raise Damaged([f"A row of {table} points at nothing." for table, *_ in orphans], "")
    with _opened(scratch) as alias:
        return _judged(alias, heads)


def _judged(alias: str, heads: SignedHeads | None) -> Restored:
    """Prove the record of a database, and put its triggers in place."""
    link = connections[alias]
    strangers = database_guards.strangers(link)
    if strangers:
        names = ", ".join(strangers)[:_LONGEST_FAULT]
        raise Damaged([f"It has triggers that no release has: {names}."], "")
    faults = [_told(fault) for fault in islice(proofs.faults(alias), _MOST_FAULTS)]
    if faults:
        raise Damaged(faults, "")
    faults = list(islice(_signed_otherwise(alias, heads), _MOST_FAULTS))
    if faults:
        raise Damaged(faults, "")
    missed = database_guards.faults(link)
    database_guards.install(link)
    jobs, rows = Job.objects.using(alias).count(), LedgerRow.objects.using(alias).count()
    return Restored(jobs, rows, missed, "jobs_shopkey" in link.introspection.table_names())


def _signed_otherwise(alias: str, heads: SignedHeads | None) -> Iterator[str]:
    """Yield a sentence for each row that was signed as another, or that is gone."""
    if "jobs_shopkey" not in connections[alias].introspection.table_names():
        return  # of a release before there were signatures
    newest = ShopKey.objects.using(alias).last()
    if newest is not None:
        yield from head_signatures.verify(PublicKey.read(newest.public_key), alias).faults
    if heads is not None:
        try:
            yield from head_lists.faults(head_lists.read(*heads, using=alias), alias)
        except head_lists.BadList as error:
            yield str(error)


def heads_beside(file: Path) -> SignedHeads | None:
    """Return the signed heads that lie beside a backup, when they do."""
    text, signature = heads_of(file)
    if not text.exists():
        return None
    return text.read_bytes(), signature.read_bytes() if signature.exists() else b""


@contextmanager
def _opened(name: Path | str) -> Iterator[str]:
    """Open a database beside the shop's own, by an alias, for as long as it is looked at."""
    link = connection.copy(alias=_SCRATCH)
    link.settings_dict["NAME"] = str(name)
    connections[_SCRATCH] = link
    try:
        yield _SCRATCH
    finally:
        link.close()
        del connections[_SCRATCH]


def _keep_names(folder: Path) -> None:
    """Let a power cut not undo the move."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _remove(scratch: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        scratch.with_name(scratch.name + ending).unlink(missing_ok=True)


def _told(fault: object) -> str:
    return " ".join(str(fault).split())[:_LONGEST_FAULT].rstrip(".")


def _restore_postgresql(file: Path, now: datetime, heads: SignedHeads | None) -> Restored:
    """Restore in one transaction; until it is proved, a mark says that it is not finished."""
    if unfinished():
        _set_aside(f"unfinished_{now:%Y%m%d_%H%M%S}")
    if connection.introspection.table_names():
        raise BackupError("The database has tables already; restore into an empty one.")
    _execute(f"CREATE SCHEMA IF NOT EXISTS {UNFINISHED}")
    connection.close()
    try:
        whole = ("--single-transaction", "--exit-on-error")
        run("pg_restore", "--no-owner", *whole, f"--dbname={database_name()}", str(file))
        restored = _judged(DEFAULT_DB_ALIAS, heads)
    except Damaged as damaged:
        aside = f"damaged_{now:%Y%m%d_%H%M%S}"
        _set_aside(aside)
        raise Damaged(damaged.faults, f"schema {aside}") from None
    except BackupError:
        _execute(f"DROP SCHEMA {UNFINISHED}")
        raise
    except Exception as error:
        _set_aside(f"damaged_{now:%Y%m%d_%H%M%S}")
        raise BackupError(f"{file} is no sound backup of Benchtag: {_told(error)}.") from None
    _execute(f"DROP SCHEMA {UNFINISHED}")
    return restored


def _prove_postgresql(file: Path, now: datetime, heads: SignedHeads | None) -> Restored:
    """Restore into a database beside the shop's own, on the same server."""
    scratch = connection.ops.quote_name(f"{database_name()}_trial_restore")
    try:
        _execute(f"DROP DATABASE IF EXISTS {scratch}")
        _execute(f"CREATE DATABASE {scratch}")
    except DatabaseError as error:
        raise BackupError(
            f"No scratch database can be made for the trial: {_told(error)}."
        ) from None
    try:
        name = scratch.strip('"')
        run("pg_restore", "--no-owner", "--exit-on-error", f"--dbname={name}", str(file))
        with _opened(name) as alias:
            return _judged(alias, heads)
    except DatabaseError as error:
        raise BackupError(f"{file} is no sound backup of Benchtag: {_told(error)}.") from None
    finally:
        _execute(f"DROP DATABASE {scratch}")


def unfinished() -> bool:
    """Whether a restore on PostgreSQL began and did not come to its end."""
    if connection.vendor != "postgresql":
        return False
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_namespace WHERE nspname = %s", [UNFINISHED])
        return cursor.fetchone() is not None


def _set_aside(name: str) -> None:
    """Leave an empty place, and what was there under a name that says what it is."""
    connection.close()
    _execute(f"ALTER SCHEMA public RENAME TO {name}")
    _execute("CREATE SCHEMA public")
    _execute(f"DROP SCHEMA IF EXISTS {UNFINISHED}")
    connection.close()


def _execute(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)
