"""`manage.py calc NAME --volts 75 ... [--json]`: a bench calculation from the shell."""

from __future__ import annotations

import inspect
import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.bench import registry


class Command(BaseCommand):
    """Runs one calculation; alone it lists them."""

    help = "Run a bench calculation; without a name, list them."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """One subcommand per calculation, its inputs as options."""
        names = parser.add_subparsers(dest="name")
        for name, calculation in registry.CALCULATIONS.items():
            below = names.add_parser(name, help=registry.about(name))
            below.add_argument("--json", action="store_true", help="print JSON")
            for asked in inspect.signature(calculation).parameters.values():
                option = "--" + asked.name.replace("_", "-")
                needed = asked.default is asked.empty
                below.add_argument(option, dest=asked.name, type=float, required=needed)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence for bad input."""
        name = options["name"]
        if name is None:
            for known in registry.CALCULATIONS:
                self.stdout.write(f"{known:15} {registry.about(known)}")
            return
        asked = inspect.signature(registry.CALCULATIONS[name]).parameters
        given = {key: options[key] for key in asked if options.get(key) is not None}
        try:
            result = registry.run(name, given)
        except ValueError as error:
            raise CommandError(str(error), returncode=2) from None
        if options["json"]:
            self.stdout.write(json.dumps(result))
        else:
            for key, value in result.items():
                self.stdout.write(
                    f"{key:16} {value:.4g}" if isinstance(value, float) else f"{key:16} {value}"
                )
