"""`manage.py restore FILE`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.jobs import queries
from shop.jobs.models import Job, LedgerRow
from shop.site import backups


class Command(BaseCommand):
    """Runs a restore of the database."""

    help = "Put a backup into an empty place."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it and check every chain; exit 2 with a sentence when it is not done."""
        try:
            backups.restore(Path(options["file"]))
        except backups.BackupError as error:
            raise CommandError(str(error), returncode=2) from None
        faults = list(queries.ledger_faults())
        for fault in faults:
            self.stderr.write(fault)
        if faults:
            raise CommandError(f"{options['file']} is back, but {len(faults)} breaks were found.")
        jobs, rows = Job.objects.count(), LedgerRow.objects.count()
        self.stdout.write(f"Done: {jobs} jobs, {rows} ledger rows, every chain intact.")
