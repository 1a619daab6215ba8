"""What the database refuses by itself, all of it: put in place, taken away, looked for."""

from __future__ import annotations

from django.db.backends.base.base import BaseDatabaseWrapper

from shop.jobs import power_triggers
from shop.lib import triggers
from shop.parts import append_only_triggers

SETS = (power_triggers, append_only_triggers)


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place; those that are there already are made anew."""
    for each in SETS:
        each.install(connection)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every trigger away: to put a whole shop in, which is checked at the end instead."""
    for each in SETS:
        each.remove(connection)


def faults(connection: BaseDatabaseWrapper) -> list[str]:
    """Return a sentence for each trigger that is missing, or is not that of this edition."""
    return [fault for each in SETS for fault in each.faults(connection)]


def strangers(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of triggers that no release has: they would act on what is written."""
    known = set().union(*(each.names() for each in SETS))
    return sorted(triggers.placed(connection) - known)
