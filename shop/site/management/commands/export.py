"""`manage.py export FILE`: the whole shop as one file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.backups import passphrases, sealing
from shop.backups.errors import BackupError
from shop.transfer import export


class Command(BaseCommand):
    """Exports the whole shop to a new file."""

    help = "Export everything to a new file; `import` reads it into an empty shop."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--encrypt", action="store_true", help="by a passphrase, as age does")
        parser.add_argument("--passphrase-file", metavar="FILE", help="the passphrase, in one line")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence when the file cannot be written."""
        file = Path(options["file"])
        encrypt = options["encrypt"] or options["passphrase_file"]
        try:
            counts = _sealed(file, options["passphrase_file"]) if encrypt else _export(file)
        except BackupError as error:
            raise CommandError(str(error), returncode=2) from None
        except FileExistsError:
            raise CommandError(f"{file} is there already; name a new file.", returncode=2) from None
        except OSError as error:
            said = f"{file} cannot be written: {error.strerror}."
            raise CommandError(said, returncode=2) from None
        for name, count in counts.items():
            if count:
                self.stdout.write(f"{count:8,} {name}")
        self.stdout.write("Done.")


def _sealed(file: Path, passphrase_file: str | None) -> dict[str, int]:
    if file.exists():
        raise FileExistsError
    with sealing.sealed(file, passphrases.new(passphrase_file)) as plain:
        return _export(plain)


def _export(file: Path) -> dict[str, int]:
    with file.open("xb") as target:
        return export.export_shop(target, now=timezone.now())
