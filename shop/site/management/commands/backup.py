"""`manage.py backup FILE`, or `backup --into FOLDER [--keep N]`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.site import backups, passphrases


class Command(BaseCommand):
    """Runs a backup of the database."""

    help = "Write the database to a new file."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE", nargs="?")
        parser.add_argument("--into", metavar="FOLDER", help="write a dated file there")
        parser.add_argument("--keep", type=int, default=14, help="how many dated files stay")
        parser.add_argument("--encrypt", action="store_true", help="by a passphrase, as age does")
        parser.add_argument("--passphrase-file", metavar="FILE", help="the passphrase, in one line")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when it is not done."""
        file, folder = options["file"], options["into"]
        if bool(file) == bool(folder):
            raise CommandError("Name a new FILE, or a folder with --into.", returncode=2)
        more: dict[str, Any] = {"now": timezone.now()}
        try:
            if options["encrypt"] or options["passphrase_file"]:
                more["passphrase"] = passphrases.new(options["passphrase_file"])
            if folder:
                file, signed = backups.backup_into(Path(folder), keep=options["keep"], **more)
            else:
                signed = backups.backup(Path(file), **more)
        except backups.BackupError as error:
            raise CommandError(str(error), returncode=2) from None
        if not signed:
            self.stderr.write("The heads of the ledgers are not signed; see `ledger key`.")
        self.stdout.write(f"Done: {file}. Verify with: manage.py ledger verify.")
