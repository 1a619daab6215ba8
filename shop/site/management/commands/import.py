"""`manage.py import FILE`: an export into an empty shop."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.backups import passphrases, sealing
from shop.backups.errors import BackupError
from shop.jobs import shop_keys
from shop.transfer import bundle_import


class Command(BaseCommand):
    """Imports what `export` wrote into an empty shop, whole or not at all."""

    help = "Import everything from a file that `export` wrote, into an empty shop."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--passphrase-file", metavar="FILE", help="the passphrase, in one line")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when nothing was imported."""
        try:
            imported = _import(Path(options["file"]), options["passphrase_file"])
        except (bundle_import.BundleError, BackupError) as error:
            raise CommandError(str(error), returncode=2) from None
        for name, count in imported.counts.items():
            if count:
                self.stdout.write(f"{count:8,} {name}")
        self._tell_keys(imported.signed_by)
        self.stdout.write("Done.")

    def _tell_keys(self, signed_by: str) -> None:
        """Say whose signature the heads carry, and whether this machine can sign."""
        if signed_by:
            self.stdout.write(f"Heads signed by {signed_by}; compare it with a release record.")
        else:
            self.stderr.write("The heads of the ledgers are not signed in this bundle.")
        state = shop_keys.state()
        if not state.can_sign:
            self.stderr.write(state.sentence)


def _import(file: Path, passphrase_file: str | None) -> bundle_import.Imported:
    try:
        with sealing.in_the_clear(file, lambda: passphrases.known(passphrase_file)) as plain:
            return bundle_import.import_shop(plain)
    except OSError as error:
        raise BackupError(f"{error.filename or file}: {error.strerror}.") from None
