"""`manage.py backup FILE`, `backup --into FOLDER [--keep N]` or `backup --nightly`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.backups import nightly, passphrases, writing
from shop.jobs import shop_keys

_UNSIGNED = "The heads of the ledgers are not signed; see `ledger key`."


class Command(BaseCommand):
    """Runs a backup of the database."""

    help = "Write the database to a new file; into a folder, prove it by a restore as well."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE", nargs="?")
        parser.add_argument("--into", metavar="FOLDER", help="write a dated file there")
        parser.add_argument("--keep", type=int, help="how many dated files stay (14)")
        parser.add_argument("--nightly", action="store_true", help="all as the settings say")
        parser.add_argument("--encrypt", action="store_true", help="by a passphrase, as age does")
        parser.add_argument("--passphrase-file", metavar="FILE", help="the passphrase, in one line")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when it is not done."""
        if [bool(options[way]) for way in ("file", "into", "nightly")].count(True) != 1:
            raise CommandError("Name a new FILE, or a folder with --into.", returncode=2)
        try:
            passphrase = _passphrase(options)
            if options["file"]:
                self._once(Path(options["file"]), passphrase)
            else:
                self._into(*_folder_and_number(options), passphrase)
        except writing.BackupError as error:
            raise CommandError(str(error), returncode=2) from None

    def _once(self, file: Path, passphrase: str) -> None:
        if not writing.backup(file, now=timezone.now(), passphrase=passphrase):
            self.stderr.write(_UNSIGNED)
        self.stdout.write(f"Done: {file}. Verify with: {settings.COMMAND} ledger verify.")

    def _into(self, folder: Path, keep: int, passphrase: str) -> None:
        made = nightly.run(folder, keep=keep, now=timezone.now(), passphrase=passphrase)
        if made.sound:
            self.stdout.write(f"Done: {made.file}, restored into a scratch place and sound.")
            if not shop_keys.state().can_sign:
                self.stderr.write(_UNSIGNED)
        if made.fault:
            raise writing.BackupError(made.fault)


def _passphrase(options: dict[str, Any]) -> str:
    if options["encrypt"] or options["passphrase_file"]:
        return passphrases.new(options["passphrase_file"])
    return passphrases.new(None) if options["nightly"] and settings.BACKUP_PASSPHRASE else ""


def _folder_and_number(options: dict[str, Any]) -> tuple[Path, int]:
    keep = settings.BACKUP_KEEP if options["keep"] is None else options["keep"]
    if keep < 1:
        raise writing.BackupError(f"keep is {keep}; it must be 1 or more.")
    if options["into"]:
        return Path(options["into"]), keep
    folder = Path(settings.BACKUP_FOLDER)
    if folder == Path(settings.DATA) / "backups":
        folder.mkdir(mode=0o700, exist_ok=True)
    return folder, keep
