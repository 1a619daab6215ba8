"""What the database refuses by itself, all of it: put in place, taken away, looked for."""

from __future__ import annotations

from types import ModuleType
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper

from shop.jobs import power_triggers
from shop.lib import triggers
from shop.parts import append_only_triggers

SETS: list[Any] = [power_triggers, append_only_triggers]


def add(triggers_of_a_room: ModuleType) -> None:
    """Guard the tables of a room above with its triggers; each offers its own as it loads.

    The module has what those here have, and `TABLES`, the tables that they stand on.
    """
    if triggers_of_a_room not in SETS:
        SETS.append(triggers_of_a_room)


def _there(connection: BaseDatabaseWrapper) -> list[Any]:
    """Return the sets whose tables the database has: a backup may be older than a room."""
    tables = set(connection.introspection.table_names())
    return [each for each in SETS if set(getattr(each, "TABLES", {}).values()) <= tables]


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place; those that are there already are made anew."""
    for each in _there(connection):
        each.install(connection)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every trigger away: to put a whole shop in, which is checked at the end instead."""
    for each in _there(connection):
        each.remove(connection)


def faults(connection: BaseDatabaseWrapper) -> list[str]:
    """Return a sentence for each trigger that is missing, or is not that of this edition."""
    return [fault for each in _there(connection) for fault in each.faults(connection)]


def strangers(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of triggers that no release has: they would act on what is written."""
    known = set().union(*(each.names() for each in SETS))
    return sorted(triggers.placed(connection) - known)
