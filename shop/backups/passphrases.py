"""Where the passphrase of a backup comes from: a file, the environment, or whoever sits there."""

from __future__ import annotations

import getpass
import sys
from pathlib import Path

from django.conf import settings

from shop.backups.errors import BackupError

SHORTEST = 12
_WAYS = "name a file with --passphrase-file, or set BENCHTAG_BACKUP_PASSPHRASE"


def new(file: str | None) -> str:
    """Return the passphrase to encrypt by; one that is typed is asked for twice."""
    passphrase = _given(file)
    if not passphrase:
        passphrase = _typed("Passphrase of the backup: ")
        if _typed("The same again: ") != passphrase:
            raise BackupError("The two passphrases differ; nothing was written.")
    if len(passphrase) < SHORTEST:
        raise BackupError(
            f"The passphrase has {len(passphrase)} letters; write at least {SHORTEST}."
        )
    return passphrase


def known(file: str | None) -> str:
    """Return the passphrase that a backup was encrypted by."""
    return _given(file) or _typed("Passphrase of the backup: ")


def _given(file: str | None) -> str:
    if not file:
        return str(settings.BACKUP_PASSPHRASE)
    try:
        # One line; the end of the line is the editor's.
        passphrase = Path(file).read_text(encoding="utf-8").rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise BackupError(f"{file} cannot be read: {error}.") from None
    if not passphrase:
        raise BackupError(f"{file} is empty; it must hold the passphrase.")
    return passphrase


def _typed(prompt: str) -> str:
    if not sys.stdin.isatty():
        raise BackupError(f"There is nobody to ask for the passphrase: {_WAYS}.")
    return getpass.getpass(prompt)
