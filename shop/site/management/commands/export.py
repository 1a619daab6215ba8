"""`manage.py export FILE`: the whole shop as one file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.transfer import export


class Command(BaseCommand):
    """Exports the whole shop to a new file."""

    help = "Export everything to a new file; `import` reads it into an empty shop."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when the file cannot be written."""
        for name, count in _export(Path(options["file"])).items():
            if count:
                self.stdout.write(f"{count:8,} {name}")
        self.stdout.write("Done.")


def _export(file: Path) -> dict[str, int]:
    try:
        with file.open("xb") as target:
            return export.export_shop(target, now=timezone.now())
    except FileExistsError:
        raise CommandError(f"{file} is there already; name a new file.", returncode=2) from None
    except OSError as error:
        raise CommandError(f"{file} cannot be written: {error.strerror}.", returncode=2) from None
