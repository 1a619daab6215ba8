"""The command line before settings are read: which folder a command acts on, and whether a shop is there."""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from django.core.management import ManagementUtility
from django.core.management.base import BaseCommand

from shop.site import env

# What is of no use, and would make an empty shop, where there is none.
NEED_A_SHOP = (
    "api-token",
    "backup",
    "carry",
    "export",
    "import",
    "jobs",
    "ledger",
    "person",
    "user",
    "watch",
)
_HELP = "data folder of the shop (default: BENCHTAG_DATA, else ./data)"
_ASKS_FOR_HELP = {"help", "version", "--help", "-h", "--version"}


class CommandLine(ManagementUtility):
    """Django's, with `--data DIR` at every command."""

    def main_help_text(self, commands_only: bool = False) -> str:
        """Return the list of commands."""
        text = str(super().main_help_text(commands_only))
        return text if commands_only else f"{text}\n\nEvery command takes --data DIR: {_HELP}."

    def fetch_command(self, subcommand: str) -> BaseCommand:
        """Return a command whose help names `--data`; it is taken off before options are parsed."""
        command = super().fetch_command(subcommand)
        plain = command.create_parser

        def create_parser(*names: Any, **more: Any) -> Any:
            parser = plain(*names, **more)
            parser.add_argument("--data", metavar="DIR", help=_HELP)
            return parser

        command.create_parser = create_parser  # type: ignore[method-assign]
        return command


def main() -> None:
    """Run the command that was typed; `--data DIR` must be known before settings are read."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
    run(sys.argv)


def run(argv: Sequence[str]) -> None:
    """Run one command on the folder that it names, and say which that is."""
    try:
        words = take_data_folder(argv)
        if not _ASKS_FOR_HELP & set(words) and len(words) > 1:
            _require_shop(words[1])
            print(f"Data folder: {_place()}", file=sys.stderr, flush=True)  # noqa: T201
    except env.BadSetting as error:
        print(error, file=sys.stderr)  # noqa: T201 - no command has begun
        raise SystemExit(2) from None
    CommandLine(list(words)).execute()


def take_data_folder(argv: Sequence[str]) -> list[str]:
    """Let `--data DIR` override BENCHTAG_DATA before settings are read; return the other words."""
    words = list(argv)
    left: list[str] = []
    while words:
        word = words.pop(0)
        if word == "--":
            return [*left, word, *words]
        if word == "--data":
            if not words or words[0].startswith("-"):
                raise env.BadSetting("--data names no folder; write --data DIR.")
            env.set_data_folder(words.pop(0))
        elif word.startswith("--data="):
            env.set_data_folder(word.removeprefix("--data="))
        else:
            left.append(word)
    return left


def _place() -> str:
    elsewhere = "" if not env.text("DATABASE_URL") else "; the database is that of DATABASE_URL"
    return f"{env.data_folder()}{elsewhere}"


def _require_shop(command: str) -> None:
    """Raise BadSetting when a command that needs a shop is sent where none is; nothing is made there."""
    if command not in NEED_A_SHOP or env.text("DATABASE_URL"):
        return
    folder = env.data_folder()
    if not _holds_shop(env.database_file(folder)):
        raise env.BadSetting(
            f"There is no shop in {folder}; name the folder of yours with --data DIR."
            f" Nothing was done. A new one is made by `migrate --data DIR`."
        )


def _holds_shop(file: Path) -> bool:
    if not file.is_file():
        return False
    try:
        with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as link:
            query = "SELECT 1 FROM sqlite_master WHERE name = 'jobs_ledgerrow'"
            return link.execute(query).fetchone() is not None
    except sqlite3.Error:
        return file.stat().st_size > 0  # damaged or busy: the command itself says so
