"""`manage.py carry out FILE`, `manage.py carry in FILE`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.transfer import bundle_import, export


class Command(BaseCommand):
    """Carries the whole shop out as one file, or a file into an empty shop."""

    help = "Carry everything out to a file, or in from one."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("way", choices=("out", "in"))
        parser.add_argument("file", metavar="FILE", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when it is not done."""
        file: Path = options["file"]
        counts = self._out(file) if options["way"] == "out" else self._in(file)
        for name, count in counts.items():
            if count:
                self.stdout.write(f"{count:8,} {name}")
        self.stdout.write("Done.")

    def _out(self, file: Path) -> dict[str, int]:
        try:
            with file.open("xb") as target:
                return export.write(target, now=timezone.now())
        except FileExistsError:
            raise CommandError(f"{file} is there already; name a new file.", returncode=2) from None
        except OSError as error:
            raise CommandError(
                f"{file} cannot be written: {error.strerror}.", returncode=2
            ) from None

    def _in(self, file: Path) -> dict[str, int]:
        try:
            return bundle_import.read(file)
        except bundle_import.CarryError as error:
            raise CommandError(str(error), returncode=2) from None
