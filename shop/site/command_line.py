"""The command line before settings are read: which folder a command acts on, and whether a shop is there."""

from __future__ import annotations

import gc
import os
import sqlite3
import sys
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from django import get_version
from django.core.management import ManagementUtility
from django.core.management.base import BaseCommand

from shop.site import env, places

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
_ELSE = "benchtag in your folder of data" if places.INSTALLED else "./data"
_HELP = f"data folder of the shop (default: BENCHTAG_DATA, else {_ELSE})"
_ASKS_FOR_VERSION = {"version", "--version"}
_ASKS_FOR_HELP = {"help", "--help", "-h", *_ASKS_FOR_VERSION}


class CommandLine(ManagementUtility):
    """Django's, with `--data DIR` at every command."""

    def main_help_text(self, commands_only: bool = False) -> str:
        """Return the list of commands."""
        text = str(super().main_help_text(commands_only))
        return text if commands_only else f"{text}\n\nEvery command takes --data DIR: {_HELP}."

    def fetch_command(self, subcommand: str) -> BaseCommand:
        """Return a command whose help names `--data`; it is taken off before options are parsed."""
        command = super().fetch_command(subcommand)
        gc.freeze()
        gc.enable()
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


def benchtag() -> None:
    """Run `benchtag`, the program of an installed copy: with no command it starts what there is to see."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
    run(sys.argv, otherwise="quickstart")


def run(argv: Sequence[str], *, otherwise: str = "") -> None:
    """Run one command on the folder that it names, and say which that is; or `otherwise` when none is named."""
    try:
        words = take_data_folder(argv)
        if otherwise and not _names_command(words):
            words.insert(1, otherwise)
        if not _ASKS_FOR_HELP & set(words) and len(words) > 1:
            _require_shop(words[1])
            print(f"Data folder: {_place()}", file=sys.stderr, flush=True)  # noqa: T201
        _execute(words)
    except env.BadSetting as error:
        print(error, file=sys.stderr)  # noqa: T201 - no command has begun
        raise SystemExit(2) from None


def _execute(words: list[str]) -> None:
    if _ASKS_FOR_VERSION & set(words[1:2]):
        print(_versions())  # noqa: T201 - all that was asked for
    else:
        # What is loaded until a command begins stays: looking it through for garbage, again and
        # again, is a sixth of the time that a command takes.
        gc.disable()
        try:
            CommandLine(words).execute()
        finally:
            gc.enable()


def _names_command(words: Sequence[str]) -> bool:
    """Whether the first word is a command, or asks for help; options alone are those of the other one."""
    return any(not word.startswith("-") or word in _ASKS_FOR_HELP for word in words[1:2])


def _versions() -> str:
    python = ".".join(map(str, sys.version_info[:3]))
    return f"Benchtag {places.version()}, Django {get_version()}, Python {python}"


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
