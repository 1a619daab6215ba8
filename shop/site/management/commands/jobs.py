"""`manage.py jobs import FILE.csv [--dry-run]` and `manage.py jobs finish`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import InterfaceError, OperationalError
from django.utils import timezone

from checklists.engine.figures import grouped
from shop.accounts import roles
from shop.lib.phrases import counted
from shop.lib.refusals import BadInput, Forbidden
from shop.lib.web import busy_database
from shop.transfer import job_import

_SHOWN = 50


class Command(BaseCommand):
    """Imports jobs from a CSV file, all or nothing."""

    help = "Import jobs from a CSV file; docs/import.md describes the header."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        ways = parser.add_subparsers(dest="way", required=True)
        load = ways.add_parser("import", help="import a CSV file")
        load.add_argument("file", metavar="FILE.csv")
        load.add_argument("--dry-run", action="store_true", help="look at every row, keep nothing")
        load.add_argument("--by", default="", help="who imports (default: the first owner)")

        ways.add_parser("finish", help="write what an interrupted import has left")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 when a row or the file is wrong."""
        try:
            for sentence in job_import.finish(progress=self._progress):
                self.stdout.write(sentence)
            if options["way"] == "import":
                self._import(**options)
        except (BadInput, Forbidden) as error:
            raise CommandError(str(error), returncode=2) from None
        except job_import.Interrupted as error:
            raise CommandError(str(error)) from None
        except (OperationalError, InterfaceError) as error:
            raise CommandError(busy_database.reason(error)) from None

    def _import(self, *, file: str, by: str, dry_run: bool, **_: Any) -> None:
        outcome = job_import.import_csv(
            Path(file), by=_person(by), at=timezone.now(), dry_run=dry_run, progress=self._progress
        )
        for error_line in outcome.errors[:_SHOWN]:
            self.stderr.write(error_line)
        if outcome.errors:
            more = len(outcome.errors) - _SHOWN
            tail = f" ({more} more)" if more > 0 else ""
            raise CommandError(
                f"{counted(outcome.errors, 'fault')} in {counted(outcome.rows, 'row')}{tail}; "
                "nothing was imported.",
                returncode=2,
            )
        for note in outcome.notes:
            self.stdout.write(note)
        if dry_run:
            rows = counted(outcome.rows, "row")
            self.stdout.write(f"{rows} could be imported; nothing was kept.")
        else:
            self.stdout.write(
                f"{counted(outcome.rows, 'row')} imported as {counted(outcome.numbers, 'job')}."
            )

    def _progress(self, what: str, done: int, rows: int) -> None:
        """Say on a terminal how far it is, always on the same line."""
        if self.stderr.isatty():
            end = "\n" if done >= rows else ""
            self.stderr.write(f"\r{grouped(done)} of {grouped(rows)} rows {what}", ending=end)


def _person(name: str) -> User:
    """Return who imports: as named, else the first owner, else an account nobody can sign in to."""
    if not name:
        owner = User.objects.filter(groups__name="owner").order_by("pk").first()
        return owner or roles.make_user("importer", "desk")
    user = User.objects.filter(username=name).first()
    if user is None:
        raise CommandError(f"There is no person {name!r}.", returncode=2)
    return user
