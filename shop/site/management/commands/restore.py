"""`manage.py restore FILE`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.backups import passphrases, restoring, writing
from shop.jobs import shop_keys
from shop.lib.phrases import counted


class Command(BaseCommand):
    """Runs a restore of the database."""

    help = "Put a backup into an empty place."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE")
        parser.add_argument("--passphrase-file", metavar="FILE", help="the passphrase, in one line")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it and prove what came back; exit 2 with a sentence when it is not done."""
        try:
            restored = restoring.restore(
                Path(options["file"]),
                now=timezone.now(),
                passphrase=lambda: passphrases.known(options["passphrase_file"]),
            )
        except restoring.Damaged as damaged:
            for fault in damaged.faults:
                self.stderr.write(fault)
            raise CommandError(str(damaged), returncode=2) from None
        except writing.BackupError as error:
            raise CommandError(str(error), returncode=2) from None
        if restored.missed:
            told = f"{counted(restored.missed, 'trigger')} of this edition put in place:"
            self.stderr.write(" ".join([told, *restored.missed]))
        self.stdout.write(
            f"Done: {restored.jobs} jobs, {restored.rows} ledger rows, every chain intact."
        )
        state = shop_keys.state() if restored.signs else None
        if state is not None and not state.can_sign:
            self.stderr.write(state.sentence)
