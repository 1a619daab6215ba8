"""Files that leave encrypted by a passphrase: in the clear only in the data folder, and not for long."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

from shop.backups.errors import BackupError
from shop.lib import age


@contextmanager
def sealed(target: Path, passphrase: str) -> Iterator[Path]:
    """Give a place to write to; what is there at the end goes encrypted to `target`, a new file."""
    plain = _beside_the_shop(target)
    try:
        yield plain
        with plain.open("rb") as source, target.open("xb") as sealing:
            target.chmod(0o600)
            age.encrypt(source, sealing, passphrase)
            sealing.flush()
            os.fsync(sealing.fileno())
    finally:
        plain.unlink(missing_ok=True)


@contextmanager
def in_the_clear(file: Path, passphrase: Callable[[], str]) -> Iterator[Path]:
    """Give the file itself, or what it holds when it is encrypted, for as long as it is needed.

    `passphrase` is asked only when it is encrypted. BackupError when it does not open.
    """
    with file.open("rb") as source:
        if not age.is_age(source.read(len(age.FIRST_LINE))):
            yield file
            return
        source.seek(0)
        plain = _beside_the_shop(file)
        try:
            with plain.open("xb") as target:
                plain.chmod(0o600)
                age.decrypt(source, target, passphrase())
            yield plain
        except age.AgeError as error:
            raise BackupError(f"{file} cannot be opened. {error}") from None
        finally:
            plain.unlink(missing_ok=True)


def _beside_the_shop(file: Path) -> Path:
    return Path(settings.DATA) / f"{file.name}.{os.getpid()}.plain"
