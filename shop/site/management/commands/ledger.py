"""`manage.py ledger verify`: check every chain; `ledger protect`: put the triggers in place."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from shop.jobs import database_guards, queries
from shop.jobs.models import LedgerRow
from shop.site import start


class Command(BaseCommand):
    """Verifies the ledgers, and what guards them."""

    help = "Check the hash chain of every job's ledger, and each job against its ledger."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        ways = parser.add_subparsers(dest="way", required=True)
        ways.add_parser("verify", help="check every chain")
        ways.add_parser("protect", help="put the triggers of the database in place")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 1 with a sentence for each break."""
        self._verify()
        if options["way"] == "protect":
            database_guards.install(connection)
            self.stdout.write("Every trigger is in place.")

    def _verify(self) -> None:
        faults = list(queries.ledger_faults())
        for fault in faults:
            self.stderr.write(fault)
        if faults:
            raise CommandError(f"{len(faults)} breaks found.")
        for fault in start.guard_faults():
            self.stderr.write(fault)
        self.stdout.write(f"{LedgerRow.objects.count()} rows, every chain intact.")
