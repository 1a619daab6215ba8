"""`manage.py carry out|in FILE`: the former name of `export` and `import`; it still answers."""

from __future__ import annotations

from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser

_NEW_NAMES = {"out": "export", "in": "import"}


class Command(BaseCommand):
    """Runs the command of today and names it."""

    help = "Former name of `export` and `import`."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("way", choices=tuple(_NEW_NAMES))
        parser.add_argument("file", metavar="FILE")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        name = _NEW_NAMES[options["way"]]
        self.stderr.write(f"carry {options['way']} is called {name} now: manage.py {name} FILE")
        call_command(name, options["file"], stdout=self.stdout, stderr=self.stderr)
