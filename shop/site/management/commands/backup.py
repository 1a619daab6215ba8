"""`manage.py backup FILE`, or `backup --into FOLDER [--keep N]`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.site import backups


class Command(BaseCommand):
    """Runs a backup of the database."""

    help = "Write the database to a new file."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE", nargs="?")
        parser.add_argument("--into", metavar="FOLDER", help="write a dated file there")
        parser.add_argument("--keep", type=int, default=14, help="how many dated files stay")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when it is not done."""
        file, folder = options["file"], options["into"]
        if bool(file) == bool(folder):
            raise CommandError("Name a new FILE, or a folder with --into.", returncode=2)
        now = timezone.now()
        try:
            if folder:
                file, signed = backups.backup_into(Path(folder), keep=options["keep"], now=now)
            else:
                signed = backups.backup(Path(file), now=now)
        except backups.BackupError as error:
            raise CommandError(str(error), returncode=2) from None
        if not signed:
            self.stderr.write("The heads of the ledgers are not signed; see `ledger key`.")
        self.stdout.write(f"Done: {file}. Verify with: manage.py ledger verify.")
