"""A backup into a folder, all of it: written, proved by a restore, copied elsewhere, recorded."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

from shop.backups import copying, restoring, writing
from shop.backups.errors import BackupError
from shop.backups.models import BackupRun

_ROWS_KEPT = 200
# What the shop itself must still be able to write.
_SPARE_BYTES = 64 * 1024 * 1024
_MEGABYTE = 1024 * 1024


def run(folder: Path, *, keep: int, now: datetime, passphrase: str = "") -> BackupRun:
    """Make one backup and return what became of it; its `fault` says what went wrong.

    BackupError when none was begun: the folder is not there, or another one is being made.
    """
    with _alone(folder):
        row = _begun(now)
        try:
            _make(row, folder, keep=keep, now=now, passphrase=passphrase)
        except BackupError as error:
            row.fault = str(error)
        row.ended_at = timezone.now()
        row.save()
        _forget_old_rows()
    return row


def _begun(now: datetime) -> BackupRun:
    try:
        return BackupRun.objects.create(began_at=now)
    except DatabaseError as error:
        raise BackupError(
            f"What becomes of it cannot be recorded ({error}). Run `migrate` first, or back up"
            " to a FILE."
        ) from None


def _make(row: BackupRun, folder: Path, *, keep: int, now: datetime, passphrase: str) -> None:
    """Write, prove and copy; older ones go only when this one is known to hold."""
    _require_room(folder, encrypted=bool(passphrase))
    file, _ = writing.backup_into(folder, now=now, passphrase=passphrase)
    row.file, row.size = str(file), file.stat().st_size
    try:
        restoring.prove(file, now=now, passphrase=lambda: passphrase)
    except BackupError as error:
        aside = writing.set_aside(file, keep=keep)
        row.file = str(aside)
        faults = getattr(error, "faults", [str(error)])
        raise BackupError(f"{aside.name} does not hold: {' '.join(faults[:3])}") from None
    row.sound = True
    writing.leave_newest(folder, keep)
    if settings.BACKUP_COPY_TO:
        copying.copy_into(Path(settings.BACKUP_COPY_TO), file, keep=keep)
    if settings.BACKUP_COMMAND:
        copying.hand_over(settings.BACKUP_COMMAND, file)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keep others from making one here meanwhile, and clear what one that was killed left."""
    if not folder.is_dir():
        raise BackupError(f"{folder} is no folder.")
    try:
        handle = os.open(folder / ".making", os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise BackupError(f"{folder} cannot be written: {error.strerror}.") from None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        writing.clear_left_overs(folder)
        yield
    except BlockingIOError:
        raise BackupError(f"Another backup into {folder} is being made.") from None
    finally:
        os.close(handle)


def _require_room(folder: Path, *, encrypted: bool) -> None:
    """Raise BackupError when the backup and its trial could leave the shop without room."""
    if connection.vendor != "sqlite":
        return  # the disks are the server's
    database = Path(str(connection.settings_dict["NAME"]))
    wal = database.with_name(f"{database.name}-wal")
    size = sum(each.stat().st_size for each in (database, wal) if each.exists())
    here = database.parent
    # Restored once for the trial; encrypted, it lies in the clear beside that.
    needed = {here: size * (2 if encrypted else 1)}
    if os.stat(folder).st_dev == os.stat(here).st_dev:
        needed[here] += size
    else:
        needed[folder] = size
    for place, wanted in needed.items():
        free = shutil.disk_usage(place).free
        if free < wanted + _SPARE_BYTES:
            raise BackupError(
                f"{place} has room for {free // _MEGABYTE} MB; a backup and its trial"
                f" want {(wanted + _SPARE_BYTES) // _MEGABYTE}."
            )


def _forget_old_rows() -> None:
    kept = BackupRun.objects.order_by("-id").values_list("id", flat=True)[:_ROWS_KEPT]
    BackupRun.objects.exclude(id__in=list(kept)).delete()
