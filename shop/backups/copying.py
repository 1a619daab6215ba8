"""A backup elsewhere: in a second folder, or handed to a program that takes it away."""

from __future__ import annotations

import filecmp
import os
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

from shop.backups.errors import BackupError
from shop.backups.writing import leave_newest, with_heads

# A backup of gigabytes over the line of a workshop.
LONGEST_SECONDS = 4 * 3600
_LONGEST_SAID = 300


def copy_into(folder: Path, file: Path, *, keep: int) -> None:
    """Copy a backup and what lies beside it; read it back; leave the newest `keep`."""
    if not folder.is_dir():
        raise BackupError(f"{folder}, where the copy goes, is not there; is its disk plugged in?")
    try:
        for each in with_heads(file):
            _copy(each, folder / each.name)
    except OSError as error:
        raise BackupError(f"The copy into {folder} was not made: {error.strerror}.") from None
    leave_newest(folder, keep)


def _copy(file: Path, target: Path) -> None:
    partial = target.with_name(f"{target.name}.part")
    try:
        shutil.copyfile(file, partial)
        with partial.open("rb+") as written:
            os.fsync(written.fileno())
        if not filecmp.cmp(file, partial, shallow=False):
            raise BackupError(f"The copy of {file.name} in {target.parent} is not the same.")
        partial.rename(target)
    finally:
        partial.unlink(missing_ok=True)


def hand_over(command: Sequence[str], file: Path) -> None:
    """Run a program for a backup and for what lies beside it; `{file}` stands for its path.

    No shell is asked, and the program learns no setting of the shop.
    """
    for each in with_heads(file):
        _run([word.replace("{file}", str(each)) for word in command])


def _run(words: list[str]) -> None:
    ours = ("BENCHTAG_", "BENCHWARDEN_")
    environment = {name: text for name, text in os.environ.items() if not name.startswith(ours)}
    try:
        done = subprocess.run(
            words,
            env=environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=LONGEST_SECONDS,
            check=False,
        )
    except OSError as error:
        raise BackupError(f"{words[0]}, which takes copies away: {error.strerror}.") from None
    except subprocess.TimeoutExpired:
        raise BackupError(f"{words[0]}, which takes copies away, did not end in time.") from None
    if done.returncode:
        said = " ".join((done.stderr or done.stdout).decode(errors="replace").split())
        raise BackupError(
            f"{words[0]}, which takes copies away, ended with {done.returncode}:"
            f" {said[:_LONGEST_SAID]}"
        )
