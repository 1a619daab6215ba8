"""`manage.py ledger verify`: check every chain."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.jobs import queries
from shop.jobs.models import LedgerRow


class Command(BaseCommand):
    """Verifies the ledgers."""

    help = "Check the hash chain of every job's ledger."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        parser.add_subparsers(dest="way", required=True).add_parser("verify")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 1 with a sentence for each break."""
        faults = list(queries.ledger_faults())
        for fault in faults:
            self.stderr.write(fault)
        if faults:
            raise CommandError(f"{len(faults)} breaks found.")
        self.stdout.write(f"{LedgerRow.objects.count()} rows, every chain intact.")
