"""`manage.py calc NAME --volts 75 ... [--json]`: a bench calculation from the shell."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Callable, Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.bench import registry
from shop.bench.alarms import alarm_of
from shop.bench.calculations import Calculation, Input
from shop.bench.units import unit_of
from shop.lib import typed_numbers
from shop.preferences import current as preferences

_NEGATIVE = re.compile(r"-[.,]?\d.*")


class _Options(CommandParser):
    """The options of one calculation, made when it is the one that was named: there are hundreds."""

    def __init__(self, *, calculation: Calculation, **words: Any) -> None:
        super().__init__(**words)
        # As argparse has it a value may be -10 and -0.5, and -1e1 or -4k7 would be an option.
        self._negative_number_matcher = _NEGATIVE
        self.waiting: Calculation | None = calculation

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Read the options, all of which are there now."""
        self.fill()
        return super().parse_known_args(args, namespace)

    def fill(self) -> None:
        """Add the options of the calculation, once."""
        calculation, self.waiting = self.waiting, None
        if calculation:
            self.add_argument("--json", action="store_true", help="print JSON")
            for asked in calculation.inputs.values():
                _add(self, asked)


class Command(BaseCommand):
    """Runs one calculation; alone it lists them."""

    help = "Run a bench calculation; without a name, list them."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """One subcommand per calculation, its inputs as options."""
        names = parser.add_subparsers(dest="name", parser_class=_Options)
        for name, calculation in registry.CALCULATIONS.items():
            names.add_parser(
                name,
                calculation=calculation,
                # argparse fills in what follows a per cent sign.
                help=calculation.does.replace("%", "%%"),
                description=f"{calculation.title}. {calculation.does}",
                epilog=_epilog(calculation),
                formatter_class=argparse.RawDescriptionHelpFormatter,
            )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence for bad input."""
        name = options["name"]
        if name is None:
            for known in registry.CALCULATIONS.values():
                self.stdout.write(f"{known.name:32} {known.title}. {known.does}")
            return
        asked = registry.CALCULATIONS[name].inputs
        given = {key: options[key] for key in asked if options.get(key) is not None}
        try:
            result = registry.run(name, given)
        except ValueError as error:
            raise CommandError(str(error), returncode=2) from None
        if options["json"]:
            self.stdout.write(json.dumps(result))
            return
        if said := alarm_of(name, given, result):
            self.stdout.write(f"{said['signal_word']}: {said['text']}")
        for line in _lines(result):
            self.stdout.write(line)


def _epilog(calculation: Calculation) -> str:
    parts = (calculation.formula, calculation.caution, calculation.source)
    sections = zip(("Formula", "Caution", "Source"), parts, strict=True)
    return "\n".join(f"{name}: {text}" for name, text in sections if text)


def _add(parser: CommandParser, asked: Input) -> None:
    option = "--" + asked.name.replace("_", "-")
    more: dict[str, Any] = {"dest": asked.name, "help": asked.unit.replace("%", "%%") or None}
    if asked.kind == "yes-no":
        parser.add_argument(option, action="store_const", const=True, **more)
        return
    if asked.words:
        more["choices"] = asked.words
    if asked.many:
        more["nargs"] = "+"
    parser.add_argument(option, type=_reader(asked), required=asked.needed, **more)


def _reader(asked: Input) -> Callable[[str], Any]:
    """Return what turns a typed option into its value: 4k7 and 22 mV as on the pages."""

    def number(typed: str) -> float:
        sign = preferences.without_database("decimal_sign")
        try:
            return typed_numbers.number(typed, unit=asked.unit, decimal=sign)
        except typed_numbers.TypedWrong as wrong:
            raise argparse.ArgumentTypeError(str(wrong).replace("%", "%%")) from None

    if asked.kind in ("number", "numbers"):
        return number
    return int if asked.kind == "whole" else str


def _lines(result: dict[str, Any]) -> Iterator[str]:
    for key, value in result.items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            yield f"{key}:"
            yield from (f"  {row.get('says', row)}" for row in value)
            continue
        text = (
            ", ".join(_amount(item) for item in value)
            if isinstance(value, list)
            else _amount(value)
        )
        yield f"{key:24} {text} {unit_of(key)}".rstrip()


def _amount(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else "-" if value is None else str(value)
