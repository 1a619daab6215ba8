"""`manage.py jobs import FILE.csv [--dry-run]`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.accounts import roles
from shop.lib.phrases import counted
from shop.lib.refusals import BadInput, Forbidden
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

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 when a row or the file is wrong."""
        by = _person(options["by"])
        try:
            outcome = job_import.import_csv(
                Path(options["file"]), by=by, at=timezone.now(), dry_run=options["dry_run"]
            )
        except (BadInput, Forbidden) as error:
            raise CommandError(str(error), returncode=2) from None
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
        if options["dry_run"]:
            rows = counted(outcome.rows, "row")
            self.stdout.write(f"{rows} could be imported; nothing was kept.")
        else:
            self.stdout.write(
                f"{counted(outcome.rows, 'row')} imported as {counted(outcome.numbers, 'job')}."
            )


def _person(name: str) -> User:
    """Return who imports: as named, else the first owner, else an account nobody can sign in to."""
    if not name:
        owner = User.objects.filter(groups__name="owner").order_by("pk").first()
        return owner or roles.make_user("importer", "desk")
    user = User.objects.filter(username=name).first()
    if user is None:
        raise CommandError(f"There is no person {name!r}.", returncode=2)
    return user
